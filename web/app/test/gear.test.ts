import { describe, expect, test } from 'vitest'
import { flow } from '../src/model/edits'
import { between, byKey, home, placeOf, presets, within } from '../src/solid/orbit'
import { readDegrees } from '../src/views/current'
import { entryOf } from '../src/views/principles'
import { profilePoints } from '../src/views/profile'

describe('what is written into the file', () => {
  test('a profile in the person’s units', () => {
    const points: [number, number][] = [
      [0, 20],
      [30.48, 5],
    ]
    expect(flow(profilePoints(points, 'us'))).toBe('[{depth: 0 ft, temp: 68 F}, {depth: 100 ft, temp: 41 F}]')
    expect(flow(profilePoints(points, 'si'))).toBe('[{depth: 0 m, temp: 20 C}, {depth: 30.48 m, temp: 5 C}]')
  })

  test('a piece of gear by its fields, empty ones left out, a dial as its table', () => {
    expect(
      entryOf('plate', {
        diameter: ' 118 mm ',
        mass: '',
        'dial 0': '0 deg',
        'dial 3': '30 deg',
        kind: 'a: b',
      }),
    ).toBe(
      '{id: plate, diameter: 118 mm, kind: "a: b", dial: [{mark: 0, tilt: 0 deg}, {mark: 3, tilt: 30 deg}]}',
    )
  })

  test('directions come around', () => {
    expect(readDegrees('20 deg')).toBe(20)
    expect(readDegrees('-15')).toBe(345)
    expect(readDegrees('400 deg')).toBe(40)
    expect(readDegrees('north')).toBeUndefined()
  })
})

describe('the eye around the spread', () => {
  test('from astern it looks forward, from above down, from the side across', () => {
    const near = (p: number[], q: number[]) =>
      p.forEach((v, i) => {
        expect(v).toBeCloseTo(q[i] ?? 0, 0)
      })
    near(placeOf({ ...presets['from astern'], far: 100 }), [0, 0, 100])
    near(placeOf({ ...presets['from the side'], far: 100 }), [100, 0, 0])
    near(placeOf({ ...presets['from above'], far: 100 }), [0, 100, 0])
  })

  test('every key does something that its opposite undoes', () => {
    const eye = { ...home, far: 100 }
    for (const [a, b] of [
      ['ArrowLeft', 'ArrowRight'],
      ['ArrowUp', 'ArrowDown'],
      ['+', '-'],
    ] as [string, string][]) {
      const there = byKey(a, eye)
      expect(there).not.toEqual(eye)
      const back = there && byKey(b, there)
      expect(back?.around).toBeCloseTo(eye.around)
      expect(back?.over).toBeCloseTo(eye.over)
      expect(back?.far).toBeCloseTo(eye.far)
    }
    expect(byKey('x', eye)).toBeUndefined()
  })

  test('it stays in sight and goes the short way around', () => {
    const kept = within({ around: 7, over: -1, far: 1e9 }, 5, 500)
    expect(kept.around).toBeCloseTo(7 - 2 * Math.PI)
    expect(kept.over).toBe(0.001)
    expect(kept.far).toBe(500)
    const half = between({ around: 3, over: 1, far: 10 }, { around: -3, over: 1, far: 20 }, 0.5)
    expect(half.around).toBeCloseTo(Math.PI, 5)
    expect(half.far).toBeCloseTo(15)
  })
})
