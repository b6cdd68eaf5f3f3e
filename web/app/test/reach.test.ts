import { expect, test } from 'vitest'
import type { Given, Moved, Reply } from '../src/api'
import { type Knob, reach, snap, write } from '../src/engine/reach'

const knob: Knob = { path: 'rods.p1.settings.line_out', unit: 'ft', value: 100, min: 0, max: 1000, step: 1 }

/** A line whose depth in meters follows from its line out in feet by a given curve. */
function mover(curve: (ft: number) => number, status = 'ok') {
  const asked: number[] = []
  const move = (given: Given): Reply<Moved> => {
    const ft = Number.parseFloat(given.edits?.at(-1)?.value ?? '')
    asked.push(ft)
    const lure = {
      id: 'lure-1',
      kind: 'spoon',
      depth_m: curve(ft),
      depth_lo_m: 0,
      depth_hi_m: 0,
      side_m: 0,
      astern_m: 0,
      through_water_mps: 1,
    }
    const track = {
      rod: 'p1',
      position: '',
      side: 0,
      status,
      line_out_m: 0,
      tip_pull_n: 0,
      line_angle_deg: 0,
      settings: '',
      bodies: [],
      lures: [lure],
      warnings: [],
      parts: [],
      rows: [],
    }
    return {
      answer: { tracks: [track], speed: { given: 'surface', over_ground_mps: 1, surface_mps: 1 } },
    } as unknown as Reply<Moved>
  }
  return { move, asked }
}

const ask = (depth: number, now: number) => ({
  given: { text: '' },
  knob,
  rod: 'p1',
  lure: 'lure-1',
  depth,
  now,
  slope: 0,
  most: 3,
})

test('a curved line is followed to within a step of its setting', () => {
  const curve = (ft: number) => 2 * Math.sqrt(ft) // 20 m at 100 ft
  let from = { value: 100, depth: 20, slope: 0 }
  for (const depth of [21, 23, 26, 22, 18]) {
    for (let i = 0; i < 4; i++) {
      const { move } = mover(curve)
      from = reach(
        { ...ask(depth, from.depth), knob: { ...knob, value: from.value }, slope: from.slope },
        move,
      )
    }
    expect(from.depth).toBe(curve(from.value))
    expect(Math.abs(from.value - (depth / 2) ** 2)).toBeLessThanOrEqual(1)
  }
})

test('a setting that works the other way is followed too', () => {
  const curve = (ft: number) => 40 - 0.3 * ft // as a release up the cable
  let from = { value: 100, depth: 10, slope: 0 }
  for (let i = 0; i < 4; i++) {
    from = reach(
      { ...ask(16, from.depth), knob: { ...knob, value: from.value }, slope: from.slope },
      mover(curve).move,
    )
  }
  expect(from.value).toBe(80)
})

test('what cannot be worked out leaves the last setting that could', () => {
  const { move } = mover(() => 25, 'not-converged')
  expect(reach(ask(30, 20), move).value).toBe(100)
})

test('it asks a bounded number of times and stays in the range', () => {
  const { move, asked } = mover(() => 20) // no setting changes anything
  const got = reach(ask(200, 20), move)
  expect(asked.length).toBeLessThanOrEqual(4)
  expect(got.value).toBeGreaterThanOrEqual(knob.min)
  expect(got.value).toBeLessThanOrEqual(knob.max)
})

test('settings are written as the file has them', () => {
  expect(write(knob, 140)).toBe('140 ft')
  expect(write({ ...knob, unit: 'm', step: 0.5 }, 42.5)).toBe('42.5 m')
  expect(write({ ...knob, unit: '', step: 0.5 }, 9.5)).toBe('9.5')
  expect(snap(knob, 140.4)).toBe(140)
  expect(snap(knob, -3)).toBe(0)
})
