// Which setting puts a lure at a depth, by a few secant steps: for while a finger drags.
import type { Given, Moved, MovedTrack, Reply } from '../api'
import { owned } from '../model/edits'

/** A setting that changes a lure's depth. Values are in its own unit. */
export interface Knob {
  path: string // key in the file: "rods.p1.settings.line_out"
  unit: string // as written after the number: "ft", "m", "" for colors
  value: number
  min: number
  max: number
  step: number
}

export interface ReachAsk {
  given: Given
  knob: Knob
  rod: string
  lure: string
  depth: number // wanted, m
  now: number // as last known, m
  slope: number // depth by setting, m per unit of the knob, as last known; 0: not known
  most: number // solves that it may take
}

export interface Reached {
  value: number
  slope: number
  depth: number
  moved: Map<string, { track: MovedTrack; points: ArrayLike<number> }>
  speed?: Moved['speed']
}

export function write(knob: Knob, value: number): string {
  const digits = knob.step < 0.1 ? 2 : knob.step < 1 ? 1 : 0
  const number = value.toFixed(digits)
  return knob.unit ? `${number} ${knob.unit}` : number
}

export function snap(knob: Knob, value: number): number {
  const stepped = Math.round(value / knob.step) * knob.step
  return Math.min(knob.max, Math.max(knob.min, stepped))
}

/** Asks move a few times; what it answers is always of the value returned. */
export function reach(ask: ReachAsk, move: (given: Given) => Reply<Moved>): Reached {
  const { knob } = ask
  const out: Reached = { value: knob.value, slope: ask.slope, depth: ask.now, moved: new Map() }
  const tryAt = (value: number): boolean => {
    const edits = [...(ask.given.edits ?? []), { ...owned(knob.path), value: write(knob, value) }]
    const reply = move({ ...ask.given, edits })
    if (!reply.answer) return false
    out.speed = reply.answer.speed
    for (const track of reply.answer.tracks) {
      out.moved.set(track.rod + (track.device ? '/' : ''), { track, points: reply.answer.points ?? [] })
    }
    const track = reply.answer.tracks.find(t => t.rod === ask.rod && !t.device)
    const lure = track?.lures.find(l => l.id === ask.lure)
    if (!lure || track?.status === 'not-converged' || track?.status === 'refused') return false
    if (Math.abs(value - out.value) >= knob.step / 2) {
      const slope = (lure.depth_m - out.depth) / (value - out.value)
      if (Number.isFinite(slope) && slope !== 0) out.slope = slope
    }
    out.value = value
    out.depth = lure.depth_m
    return true
  }
  for (let i = 0; i < ask.most; i++) {
    const guess = out.slope || knob.step * 0.1
    // No further than half of what there is, or the first steps: the slope is only local.
    const most = Math.max(10 * knob.step, 0.5 * Math.abs(out.value))
    const by = Math.min(most, Math.max(-most, (ask.depth - out.depth) / guess))
    const value = snap(knob, out.value + by)
    if (Math.abs(value - out.value) < knob.step / 2) break
    const was = { value: out.value, depth: out.depth }
    if (!tryAt(value)) {
      tryAt(was.value)
      break
    }
  }
  return out
}
