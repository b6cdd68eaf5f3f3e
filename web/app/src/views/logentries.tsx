// Everything that was written, and how it is put right.
import { useSignal } from '@preact/signals'
import type { EntryNow } from '../api'
import * as log from '../log/log'
import { Button, Select } from '../ui/controls'
import { Field } from './logfield'

const first = 12

/** Everything that was written, newest first, each to be put right by another entry. */
export function Entries() {
  const all = useSignal(false)
  const open = useSignal('')
  const entries = (log.now.value?.entries ?? [])
    .filter(e => e.kind !== 'trip-begins')
    .toSorted((a, b) => b.at_ms - a.at_ms || (a.id < b.id ? 1 : -1))
  const shown = all.value ? entries : entries.slice(0, first)
  return (
    <section aria-labelledby="log-entries">
      <h2 id="log-entries">Entries</h2>
      <p>Nothing is erased: what was wrong is put right by another entry.</p>
      <ul class="log-lines">
        {shown.map(e => (
          <Entry
            key={e.id}
            entry={e}
            open={open.value === e.id}
            onOpen={on => (open.value = on ? e.id : '')}
          />
        ))}
      </ul>
      {!all.value && entries.length > first && (
        <Button onClick={() => (all.value = true)}>Show all {entries.length}</Button>
      )}
    </section>
  )
}

function Entry(props: { entry: EntryNow; open: boolean; onOpen: (on: boolean) => void }) {
  const e = props.entry
  const time = useSignal(e.time)
  const rod = useSignal(e.rod ?? '')
  const words = e.words.replace(e.rod ?? '', e.rod ? log.nameOf(e.rod) : '')
  const moved = () => {
    const [h, m] = time.value.split(':').map(Number)
    const [h0, m0] = e.time.split(':').map(Number)
    if ([h, m, h0, m0].some(v => v === undefined || Number.isNaN(v))) return undefined
    return ((h! - h0!) * 60 + m! - m0!) * 60_000
  }
  const rods = log.now.value?.rods ?? []
  return (
    <li class="log-entry">
      <p>
        <b>{e.time}</b> {e.void ? <s>{words}</s> : words}
        {e.void ? ' (taken back)' : e.fixes && e.fixes.length > 0 ? ' (put right)' : ''}
      </p>
      <Button
        kind="quiet"
        label={`Put right: ${e.time} ${words}`}
        pressed={props.open}
        onClick={() => props.onOpen(!props.open)}
      >
        Put right
      </Button>
      {props.open && (
        <div class="entry-fix">
          {e.void ? (
            <Button
              onClick={() => {
                const by = e.fixes?.[0]
                if (by) void log.fix({ of: by, void: true }, 'Put back')
                props.onOpen(false)
              }}
            >
              Put it back
            </Button>
          ) : (
            <>
              <div class="fields">
                <Field label="It was at" hint="hh:mm" value={time.value} onValue={v => (time.value = v)} />
                {e.rod && (
                  <Select
                    label="On"
                    value={rod.value}
                    options={rods.map(r => ({ value: r.rod, text: log.nameOf(r.rod) }))}
                    onValue={v => (rod.value = v)}
                  />
                )}
              </div>
              <div class="setting-row">
                <Button
                  onClick={() => {
                    const by = moved()
                    const at = by ? log.instantAt(e.at_ms + by) : undefined
                    const other = rod.value !== (e.rod ?? '') ? rod.value : undefined
                    if (at === undefined && other === undefined) return
                    void log.fix(
                      { of: e.id, ...(at ? { at } : {}), ...(other ? { rod: other } : {}) },
                      `Put right: ${words}`,
                    )
                    props.onOpen(false)
                  }}
                >
                  Put it right
                </Button>
                <Button
                  onClick={() => {
                    void log.fix({ of: e.id, void: true }, `Taken back: ${words}`)
                    props.onOpen(false)
                  }}
                >
                  It never happened
                </Button>
              </div>
            </>
          )}
        </div>
      )}
    </li>
  )
}
