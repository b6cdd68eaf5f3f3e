// Trips begun apart on two devices of one boat, and made one by a correction.
import type { LogBodies } from '../api'
import type { Kept } from './store'

export interface Part {
  trip: string // the event that began it
  to: string // the trip that it is part of
  fix: string // the correction that says so
}

/** The trips that are part of another, as package trip reads it. */
export function partsOf(begun: readonly Kept[], fixes: readonly Kept[]): Part[] {
  const begins = new Set(begun.map(k => k.id))
  const dead = new Set<string>()
  const to = new Map<string, { trip: string; fix: string }>()
  for (const k of fixes.toSorted((a, b) => (a.id < b.id ? 1 : -1))) {
    if (dead.has(k.id)) continue
    const fix = k.event.body as LogBodies['fix']
    if (fix.void) dead.add(fix.of)
    if (fix.trip && begins.has(fix.of) && !to.has(fix.of) && fix.trip !== fix.of && !/^0+$/.test(fix.trip))
      to.set(fix.of, { trip: fix.trip, fix: k.id })
  }
  const parts: Part[] = []
  for (const [trip, first] of to) {
    let end = first.trip
    for (let n = 0; n < to.size && to.has(end); n++) end = to.get(end)?.trip ?? end
    // In a circle nobody knows which is the whole.
    if (!to.has(end)) parts.push({ trip, to: end, fix: first.fix })
  }
  return parts
}
