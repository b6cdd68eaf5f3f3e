// The fan as the views draw it: one record a rod or device, replaced when it moves.
import type { BodyFan, MovedPart, MovedTrack, Row, Spread, TrackState } from '../api'
import { sideWord } from '../words'

export interface Curve {
  id: string
  kind: string
  points: ArrayLike<number> // x y z after one another, m, boat frame
}

export interface Line {
  id: string
  device: boolean
  tag: string // "P1", "S2", "M1"; "" for a device
  name: string
  side: 'port' | 'starboard' | 'middle'
  state: TrackState
  curves: Curve[]
  rows: Row[]
  pending: boolean // moved since its intervals were worked out
}

/** The key of a line: rods and devices may have the same id. */
export function keyOf(t: { rod: string; device?: boolean | undefined }): string {
  return t.device ? `${t.rod}/` : t.rod
}

export function flat(points: [number, number, number][]): Float32Array {
  const out = new Float32Array(3 * points.length)
  points.forEach((p, i) => {
    out.set(p, 3 * i)
  })
  return out
}

export function believed(l: Line): boolean {
  return l.state.status !== 'not-converged' && l.state.status !== 'refused'
}

function name(t: TrackState): string {
  return t.position.trim() || t.rod
}

/** The curves that an answer's parts say, out of its points. */
export function curvesOf(parts: readonly MovedPart[], points: ArrayLike<number>): Curve[] {
  return parts.map(p => ({
    id: p.id,
    kind: p.kind,
    points:
      points instanceof Float32Array
        ? points.subarray(3 * p.from, 3 * (p.from + p.count))
        : Array.prototype.slice.call(points, 3 * p.from, 3 * (p.from + p.count)),
  }))
}

/** All lines of a solved spread that carries its curves. */
export function linesOf(spread: Spread): Line[] {
  const lines = spread.tracks.map((state, i): Line => {
    const key = keyOf(state)
    return {
      id: key,
      device: state.device === true,
      tag: '',
      name: name(state),
      side: sideWord(state.side),
      state,
      curves: curvesOf(spread.curves?.[i]?.parts ?? [], spread.points ?? []),
      rows: spread.rows.filter(r => r.rod === state.rod),
      pending: false,
    }
  })
  const counts = { port: 0, starboard: 0, middle: 0 }
  // In the order of the table, port to starboard, so that tags are those of the printed plan.
  const place = new Map<string, number>()
  for (const r of spread.rows) if (!place.has(r.rod)) place.set(r.rod, place.size)
  const order = (l: Line) => (l.device ? 1000 : 0) + (place.get(l.state.rod) ?? 999)
  const ordered = lines.toSorted((a, b) => order(a) - order(b))
  for (const l of ordered) {
    if (!l.device) l.tag = `${l.side === 'middle' ? 'M' : l.side === 'port' ? 'P' : 'S'}${++counts[l.side]}`
  }
  return ordered
}

/** Moves an old interval along with its body until the new one is known. */
function carry<B extends BodyFan>(now: B, was: BodyFan | undefined): B {
  if (!was || now.depth_hi_m > now.depth_lo_m) return now
  return {
    ...now,
    depth_lo_m: now.depth_m - (was.depth_m - was.depth_lo_m),
    depth_hi_m: now.depth_m + (was.depth_hi_m - was.depth_m),
  }
}

/** The lines after some of them moved; those that did not stay the same records. */
export function withMoved(
  lines: Line[],
  moved: Map<string, { track: MovedTrack; points: ArrayLike<number> }>,
): Line[] {
  return lines.map(l => {
    const m = moved.get(l.id)
    if (!m) return l
    const { parts, rows, ...state } = m.track
    state.lures = state.lures.map(b =>
      carry(
        b,
        l.state.lures.find(x => x.id === b.id),
      ),
    )
    state.bodies = state.bodies.map(b =>
      carry(
        b,
        l.state.bodies.find(x => x.id === b.id),
      ),
    )
    return {
      ...l,
      state,
      rows,
      pending: true,
      curves: curvesOf(parts, m.points),
    }
  })
}

/** Keeps the records of lines that came out as they were, so that they are not drawn anew. */
export function keepSame(was: Line[], now: Line[]): Line[] {
  const old = new Map(was.map(l => [l.id, l]))
  return now.map(l => {
    const o = old.get(l.id)
    const same =
      o &&
      !o.pending &&
      o.tag === l.tag &&
      o.name === l.name &&
      JSON.stringify(o.state) === JSON.stringify(l.state) &&
      o.curves.length === l.curves.length &&
      o.curves.every((c, i) => c.points.length === l.curves[i]?.points.length)
    return same ? o : l
  })
}
