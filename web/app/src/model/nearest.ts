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

/** Of the segment from point i of a curve: how near it comes to p, squared, and where along it. */
function onSegment(p: Point, c: ArrayLike<number>, i: number): { d2: number; t: number } {
  const k = 3 * i
  const ax = c[k] as number
  const ay = c[k + 1] as number
  const az = c[k + 2] as number
  const vx = (c[k + 3] as number) - ax
  const vy = (c[k + 4] as number) - ay
  const vz = (c[k + 5] as number) - az
  const long = vx * vx + vy * vy + vz * vz
  const dot = (p[0] - ax) * vx + (p[1] - ay) * vy + (p[2] - az) * vz
  const t = long > 0 ? Math.min(1, Math.max(0, dot / long)) : 0
  const x = p[0] - ax - t * vx
  const y = p[1] - ay - t * vy
  const z = p[2] - az - t * vz
  return { d2: x * x + y * y + z * z, t }
}

/** The nearest pair, or undefined with fewer than two rods. */
export function nearestPair(lines: readonly Line[]): Near | undefined {
  const rods = lines.filter(l => !l.device && believed(l))
  let best: { a: Line; b: Line; p: Point; points: ArrayLike<number>; i: number; t: number } | undefined
  let least = Number.POSITIVE_INFINITY
  for (const a of rods) {
    for (const lure of a.state.lures) {
      const p: Point = [-lure.astern_m, lure.side_m, lure.depth_m]
      for (const b of rods) {
        if (a === b) continue
        for (const c of b.curves) {
          for (let i = 0; i < c.points.length / 3 - 1; i++) {
            const { d2, t } = onSegment(p, c.points, i)
            if (d2 >= least) continue
            least = d2
            best = { a, b, p, points: c.points, i, t }
          }
        }
      }
    }
  }
  if (!best) return undefined
  const { points, i, t } = best
  const along = (k: number) => {
    const from = points[3 * i + k] as number
    return from + t * ((points[3 * i + 3 + k] as number) - from)
  }
  return {
    a: best.a.id,
    b: best.b.id,
    distance: Math.sqrt(least),
    at: best.p,
    to: [along(0), along(1), along(2)],
  }
}
