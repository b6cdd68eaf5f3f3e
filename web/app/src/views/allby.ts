// "All down 10 ft": every rod by its own setting, in one step that undo takes back.
import type { Change } from '../api'
import { askReach } from '../engine/client'
import { write } from '../engine/reach'
import * as doc from '../model/doc'
import { depthKnob, isStacked } from '../model/form'
import { settings } from '../model/settings'
import { believed } from '../model/tracks'
import { length } from '../words'

/** Moves every rod's deepest lure by so many meters, and says what it did and could not do. */
export async function allBy(meters: number): Promise<void> {
  await doc.commit()
  const form = doc.form.value
  const text = doc.text.value
  if (text === null) return
  const u = settings.value.units
  const changes: Change[] = []
  const stay: string[] = []
  const seen = new Set<string>()
  for (const line of doc.lines.value) {
    if (line.device) continue
    const rod = line.state.rod
    // A stacked rod rides its cable, which its lower neighbor moves.
    if (isStacked(form, rod)) continue
    const knob = depthKnob(form, rod, u)
    const lure = line.state.lures[0]
    if (!knob || !lure || !believed(line)) {
      stay.push(line.name)
      continue
    }
    if (seen.has(knob.path)) continue
    seen.add(knob.path)
    const wanted = Math.max(0.3, lure.depth_m + meters)
    let at = { value: knob.value, depth: lure.depth_m, slope: 0 }
    for (let i = 0; i < 3; i++) {
      const got = await askReach({
        given: { text, units: u },
        knob: { ...knob, value: at.value },
        rod,
        lure: lure.id,
        depth: wanted,
        now: at.depth,
        slope: at.slope,
      })
      const same = got.value === at.value
      at = got
      if (same) break
    }
    // Half of what was asked is not what was asked.
    if (Math.abs(at.depth - wanted) > 0.5 * Math.abs(meters)) {
      stay.push(line.name)
      continue
    }
    changes.push({ do: 'set', path: knob.path, value: write(knob, at.value) })
  }
  const words = `all ${meters > 0 ? 'down' : 'up'} ${length(u, Math.abs(meters))}`
  if (changes.length > 0) await doc.edit(changes, words)
  const done = `${words}: ${changes.length} set`
  doc.said.value = stay.length > 0 ? `${done}; ${stay.join(', ')} cannot by line out alone and stay` : done
  doc.notice.value = doc.said.value
}
