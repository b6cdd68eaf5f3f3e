import { describe, expect, test } from 'vitest'
import type { TurnAnswer } from '../src/api'
import { linesAt, placeAt, played, poseAt, sampleAt } from '../src/model/turning'

/** Two samples 2 s apart: the boat goes 2 m ahead and turns a right angle to starboard. */
function answer(points: number[] | Float32Array, drawn: object): TurnAnswer {
  const pair = { a: 'one', b: 'two', first_ratio: 1.5, t_s: 2, distance_m: 1 }
  return {
    turn: {
      version: 1,
      manoeuvre: { begin_s: 1 },
      every_s: 2,
      shapes_every: 1,
      boat: [
        { t_s: 0, x_m: 0, y_m: 0, heading_rad: 0 },
        { t_s: 2, x_m: 2, y_m: 0, heading_rad: Math.PI / 2 },
      ],
      tracks: [
        {
          rod: 'one',
          side: 1,
          points: [{ id: 'spoon', kind: 'spoon', lure: true, depth_lo_m: 9, depth_hi_m: 11 }],
        },
      ],
      pairs: [
        { ...pair, ratio: 0.5 },
        { ...pair, ratio: 1.2 },
        { ...pair, ratio: 0.99, first_ratio: 1 },
      ],
      worlds: 0,
    },
    words: ['a turn'],
    drawn: [drawn],
    points,
  } as unknown as TurnAnswer
}

const lure = [-10, 0, 10, -10, 4, 12]

describe('a turn, played', () => {
  test('between samples everything is between', () => {
    const shapes = [0, 0, 0, -10, 0, 10, 0, 0, 0, -10, 0, 12]
    const turn = played(
      answer(new Float32Array([...lure, ...shapes]), { from: 0, samples: 2, shapes: [[2, 2]] }),
    )
    const track = turn.tracks[0]!
    expect(turn.until).toBe(2)
    expect(sampleAt(turn, 1)).toBe(0.5)
    expect(sampleAt(turn, 9)).toBe(1)
    expect(poseAt(turn, 0.5)).toEqual({ x: 1, y: 0, heading: Math.PI / 4 })
    expect(placeAt(track, track.points[0]!, 0.5)).toEqual([-10, 2, 11])
    // Turned to starboard, what trails astern lies to port of the first heading.
    const end = linesAt(turn, track, 1)[0]?.[1] ?? [0, 0]
    expect(end[0]).toBeCloseTo(2)
    expect(end[1]).toBeCloseTo(-10)
  })

  test('of shapes with other counts the nearer stands', () => {
    const turn = played(
      answer([...lure, 0, 0, 0, -10, 0, 10, 0, 0, 0, -5, 0, 5, -10, 0, 12], {
        from: 0,
        samples: 2,
        shapes: [[2, 3]],
      }),
    )
    expect(linesAt(turn, turn.tracks[0]!, 0.25)[0]).toHaveLength(2)
    expect(linesAt(turn, turn.tracks[0]!, 0.75)[0]).toHaveLength(3)
  })

  test('a line that stopped stays where it was; without shapes there are chords', () => {
    const turn = played(answer(lure.slice(0, 3), { from: 0, samples: 1, shapes: [] }))
    const track = turn.tracks[0]!
    expect(placeAt(track, track.points[0]!, 1)).toEqual([-10, 0, 10])
    expect(linesAt(turn, track, 1)).toEqual([[[-10, 0]]])
  })

  test('close is what comes inside its margin by the turn', () => {
    const turn = played(answer([], { from: 0, samples: 0, shapes: [] }))
    expect(turn.close.map(p => p.ratio)).toEqual([0.5])
    expect(placeAt(turn.tracks[0]!, turn.tracks[0]!.points[0]!, 0)).toBeUndefined()
  })
})
