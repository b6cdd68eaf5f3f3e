// A turn as it is played: each line's series by time, out of the points that came with it.
import type { Turn, TurnAnswer, TurnPair } from '../api'

/** A tip, a body or a lure through the turn. */
export interface PlayedPoint {
  id: string
  kind: string
  lure: boolean
  at: ArrayLike<number> // x y z over ground, m, one sample after another
  lo: number // 80 % interval of its depth straight on, m
  hi: number
}

export interface PlayedTrack {
  key: string
  rod: string
  device: boolean
  side: number
  samples: number
  points: PlayedPoint[]
  shapes: ArrayLike<number>[][] // by chain and time: x y z in the boat's frame, m
}

export interface Pose {
  x: number
  y: number
  heading: number
}

export interface Played {
  first: boolean // the other side and the intervals are not known yet
  plan: Turn['manoeuvre']
  every: number // s between samples
  shapesEvery: number // samples between shapes; 0: there are none
  last: number // index of the last sample
  until: number // s
  boat: Turn['boat']
  tracks: PlayedTrack[]
  close: TurnPair[] // what comes inside its margin, or clearly nearer than it ran inside it before
  words: string[]
  worlds: number // sampled
}

const nearer = 0.02 // of the margin
const mostClose = 8

export function played(answer: TurnAnswer): Played {
  const { turn } = answer
  if (!turn) throw new Error('the engine answered without a turn')
  const all: ArrayLike<number> = answer.points ?? []
  let next = 0
  const take = (points: number) => {
    const from = next
    next += 3 * points
    return all instanceof Float32Array
      ? all.subarray(from, next)
      : Array.prototype.slice.call(all, from, next)
  }
  const tracks = turn.tracks.map((t, i): PlayedTrack => {
    const drawn = answer.drawn?.[i]
    const samples = drawn?.samples ?? 0
    next = 3 * (drawn?.from ?? 0)
    return {
      key: t.rod + (t.device ? '/' : ''),
      rod: t.rod,
      device: t.device === true,
      side: t.side,
      samples,
      points: t.points.map(p => ({
        id: p.id,
        kind: p.kind,
        lure: p.lure === true,
        at: take(samples),
        lo: p.depth_lo_m,
        hi: p.depth_hi_m,
      })),
      shapes: (drawn?.shapes ?? []).map(counts => counts.map(take)),
    }
  })
  const last = Math.max(0, turn.boat.length - 1)
  return {
    first: answer.first === true,
    plan: turn.manoeuvre,
    every: turn.every_s,
    shapesEvery: turn.shapes_every ?? 0,
    last,
    until: turn.boat[last]?.t_s ?? 0,
    boat: turn.boat,
    tracks,
    close: turn.pairs.filter(p => p.ratio < 1 && p.ratio < p.first_ratio - nearer).slice(0, mostClose),
    words: answer.words,
    worlds: turn.worlds,
  }
}

/** The sample at a time, in parts of one. */
export function sampleAt(turn: Played, t: number): number {
  return Math.min(turn.last, Math.max(0, t / turn.every))
}

const between = (a: number, b: number, part: number) => a + (b - a) * part

export function poseAt(turn: Played, sample: number): Pose | undefined {
  const i = Math.floor(sample)
  const a = turn.boat[i]
  const b = turn.boat[i + 1] ?? a
  if (!a || !b) return undefined
  const part = sample - i
  return {
    x: between(a.x_m, b.x_m, part),
    y: between(a.y_m, b.y_m, part),
    heading: between(a.heading_rad, b.heading_rad, part),
  }
}

/** Where a point is over ground; where its line stopped, after that. */
export function placeAt(
  track: PlayedTrack,
  p: PlayedPoint,
  sample: number,
): [number, number, number] | undefined {
  if (track.samples === 0) return undefined
  const s = Math.min(sample, track.samples - 1)
  const i = Math.floor(s)
  const j = Math.min(i + 1, track.samples - 1)
  const of = (k: number) => between(p.at[3 * i + k] ?? 0, p.at[3 * j + k] ?? 0, s - i)
  return [of(0), of(1), of(2)]
}

/** A line over ground as it lies, chain by chain; its chords where nothing better is known. */
export function linesAt(turn: Played, track: PlayedTrack, sample: number): [number, number][][] {
  const boat = poseAt(turn, sample)
  if (!boat || turn.shapesEvery < 1 || track.shapes.length === 0) {
    const chords = track.points.map(p => placeAt(track, p, sample)).filter(q => q !== undefined)
    return [chords.map(q => [q[0], q[1]])]
  }
  const [cos, sin] = [Math.cos(boat.heading), Math.sin(boat.heading)]
  return track.shapes.map(chain => {
    const at = Math.min(sample / turn.shapesEvery, chain.length - 1)
    const [i, part] = [Math.floor(at), at - Math.floor(at)]
    const one = chain[i] ?? []
    const two = chain[i + 1] ?? one
    // Shapes of as many points go over into one another; of others the nearer stands.
    const alike = one.length === two.length
    const flat = alike || part < 0.5 ? one : two
    const out: [number, number][] = []
    for (let k = 0; k + 2 < flat.length; k += 3) {
      const of = (n: number) => (alike ? between(one[n] ?? 0, two[n] ?? 0, part) : (flat[n] ?? 0))
      const [x, y] = [of(k), of(k + 1)]
      out.push([boat.x + cos * x - sin * y, boat.y + sin * x + cos * y])
    }
    return out
  })
}
