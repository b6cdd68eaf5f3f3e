// Which two rods come nearest: a lure of one to anything of the other, in still water
// between them. Lines that meet at their boat's side are not counted, lures are what tangle.
import { believed, type Line } from './tracks'

type Point = [number, number, number]

export interface Near {
  a: string // id of the rod whose lure it is
  b: string
  distance: number // m
  at: Point // of the lure, boat frame
  to: Point
}

function onSegment(p: Point, points: ArrayLike<number>, i: number): { d: number; q: Point } {
  const a: Point = [points[3 * i]!, points[3 * i + 1]!, points[3 * i + 2]!]
  const b: Point = [points[3 * i + 3]!, points[3 * i + 4]!, points[3 * i + 5]!]
  const v = [b[0] - a[0], b[1] - a[1], b[2] - a[2]] as Point
  const long = v[0] * v[0] + v[1] * v[1] + v[2] * v[2]
  const dot = (p[0] - a[0]) * v[0] + (p[1] - a[1]) * v[1] + (p[2] - a[2]) * v[2]
  const t = long > 0 ? Math.min(1, Math.max(0, dot / long)) : 0
  const q: Point = [a[0] + t * v[0], a[1] + t * v[1], a[2] + t * v[2]]
  return { d: Math.hypot(p[0] - q[0], p[1] - q[1], p[2] - q[2]), q }
}

/** The nearest pair, or undefined with fewer than two rods. */
export function nearestPair(lines: readonly Line[]): Near | undefined {
  const rods = lines.filter(l => !l.device && believed(l))
  let best: Near | undefined
  for (const a of rods) {
    for (const lure of a.state.lures) {
      const p: Point = [-lure.astern_m, lure.side_m, lure.depth_m]
      for (const b of rods) {
        if (a === b) continue
        for (const c of b.curves) {
          for (let i = 0; i < c.points.length / 3 - 1; i++) {
            const { d, q } = onSegment(p, c.points, i)
            if (!best || d < best.distance) best = { a: a.id, b: b.id, distance: d, at: p, to: q }
          }
        }
      }
    }
  }
  return best
}
