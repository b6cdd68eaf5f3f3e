// What a finger means: the nearest lure or line to a touch.
import { believed, type Line } from '../model/tracks'
import { type Frame, project, type ViewID } from './frame'

export interface Pick {
  line: Line
  lure?: string // when the touch is on a lure
  distance: number // px
}

const reachPx = 26 // about half a thumb

function toSegment(px: number, py: number, ax: number, ay: number, bx: number, by: number): number {
  const vx = bx - ax
  const vy = by - ay
  const long = vx * vx + vy * vy
  const t = long > 0 ? Math.min(1, Math.max(0, ((px - ax) * vx + (py - ay) * vy) / long)) : 0
  return Math.hypot(px - ax - t * vx, py - ay - t * vy)
}

/** Lures come before lines, and the rod that is lit before others as near. */
export function pick(
  lines: readonly Line[],
  f: Frame,
  view: ViewID,
  x: number,
  y: number,
  lit: string | null,
): Pick | undefined {
  let best: Pick | undefined
  let bestScore = reachPx
  for (const line of lines) {
    if (!believed(line)) continue
    const favor = line.id === lit ? 8 : 0
    for (const lure of line.state.lures) {
      const [u, v] = project(f, view, -lure.astern_m, lure.side_m, lure.depth_m)
      const distance = Math.hypot(u - x, v - y)
      const score = distance - favor - 6
      if (distance < reachPx && score < bestScore) {
        best = { line, lure: lure.id, distance }
        bestScore = score
      }
    }
    for (const c of line.curves) {
      for (let i = 0; i + 5 < c.points.length; i += 3) {
        const [ax, ay] = project(f, view, c.points[i]!, c.points[i + 1]!, c.points[i + 2]!)
        const [bx, by] = project(f, view, c.points[i + 3]!, c.points[i + 4]!, c.points[i + 5]!)
        const score = toSegment(x, y, ax, ay, bx, by) - favor + 4
        if (score < bestScore) {
          best = { line, distance: score }
          bestScore = score
        }
      }
    }
  }
  return best
}
