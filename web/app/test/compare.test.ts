import { expect, test } from 'vitest'
import type { TrackState } from '../src/api'
import { difference } from '../src/views/compare'

const track = (depth: number, side: number, astern: number, pull: number, status = 'ok') =>
  ({
    status,
    tip_pull_n: pull,
    lures: [
      {
        kind: 'spoon',
        depth_m: depth,
        depth_lo_m: depth - 3.048,
        depth_hi_m: depth + 3.048,
        side_m: side,
        astern_m: astern,
      },
    ],
  }) as unknown as TrackState

test('the sentence has every number with its unit, every depth with its interval', () => {
  // 1 ft = 0.3048 m, 1 lb = 4.4482216 N, by definition.
  const s = difference(
    'us',
    track(12.192, -6.096, 30.48, 8.896),
    track(15.24, -3.048, 30.48, 13.345),
    'dial 3',
    'dial 1',
  )
  expect(s).toBe(
    'With dial 3 the spoon runs 40 ft deep (30–50 ft 4 times in 5); with dial 1 50 ft deep (40–60 ft 4 times in 5). That is 10 ft deeper, 10 ft less far to the side and with 1.0 lb more pull at the tip.',
  )
})

test('no difference and no solution are said too', () => {
  const same = track(10, 0, 30, 9)
  expect(difference('us', same, same, 'A', 'B')).toContain('no different')
  expect(difference('us', same, track(10, 0, 30, 9, 'refused'), 'A', 'the ring on')).toBe(
    'With the ring on this rod cannot be worked out.',
  )
})
