// The sentence that says what a change does, with its numbers.
import type { TrackState } from '../api'
import { force, length, lengthUnit, span, type Units } from '../words'

/** What B does against A for the first lure of a rod, or why it cannot be said. */
export function difference(u: Units, a: TrackState, b: TrackState, nameA: string, nameB: string): string {
  const la = a.lures[0]
  const lb = b.lures[0]
  const sane = (t: TrackState) => t.status !== 'not-converged' && t.status !== 'refused'
  if (!la || !lb || !sane(a) || !sane(b)) {
    const which = la && sane(a) ? nameB : nameA
    return `With ${which} this rod cannot be worked out.`
  }
  const unit = lengthUnit(u)
  const place = (l: typeof la) =>
    `${length(u, Math.max(0, l.depth_m))} deep (${span(u, l.depth_lo_m, l.depth_hi_m)} ${unit} 4 times in 5)`
  const by: string[] = []
  const say = (d: number, more: string, less: string) => {
    const text = length(u, Math.abs(d))
    if (Number.parseFloat(text) !== 0) by.push(`${text} ${d > 0 ? more : less}`)
  }
  say(lb.depth_m - la.depth_m, 'deeper', 'shallower')
  say(Math.abs(lb.side_m) - Math.abs(la.side_m), 'farther to the side', 'less far to the side')
  say(lb.astern_m - la.astern_m, 'farther astern', 'less far astern')
  const pull = b.tip_pull_n - a.tip_pull_n
  const pulls = force(u, Math.abs(pull))
  if (Number.parseFloat(pulls) !== 0) by.push(`with ${pulls} ${pull > 0 ? 'more' : 'less'} pull at the tip`)
  const change = by.length > 0 ? list(by) : 'no different'
  return `With ${nameA} the ${la.kind} runs ${place(la)}; with ${nameB} ${place(lb)}. That is ${change}.`
}

function list(parts: string[]): string {
  const last = parts.at(-1) ?? ''
  return parts.length < 2 ? last : `${parts.slice(0, -1).join(', ')} and ${last}`
}
