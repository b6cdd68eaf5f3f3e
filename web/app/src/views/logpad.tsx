// The rods under the thumb: one touch on a rod that is out is a strike, on one that is in a
// line set. What was just logged stands above for a while, to be taken back.
import { signal } from '@preact/signals'
import { useEffect } from 'preact/hooks'
import type { RodNow } from '../api'
import * as log from '../log/log'
import * as doc from '../model/doc'
import type { Line } from '../model/tracks'
import { Button } from '../ui/controls'
import { capital, sentence } from '../words'
import { fish } from './logfish'

/** How long what was just logged stands there. */
const standing = 20_000

export const minutes = (ms: number) => Math.max(0, Math.floor(ms / 60_000))

/** Time since a line was last known to run free, in words. */
export function sinceCheck(r: RodNow): string {
  if (!r.out) return 'in'
  if (r.fouled) return 'fouled'
  return `${minutes(log.clock.value - (r.checked_ms ?? 0))} min`
}

export function isDue(r: RodNow): boolean {
  return r.out && (r.fouled || minutes(log.clock.value - (r.checked_ms ?? 0)) >= log.checkEvery.value)
}

interface Entry {
  rod: RodNow
  line: Line | undefined
}

/** The trip's rods in the order of the spread, port to starboard. */
export function rodsInOrder(): Entry[] {
  const place = new Map(doc.lines.value.filter(l => !l.device).map((l, i) => [l.state.rod, { l, i }]))
  return (log.now.value?.rods ?? [])
    .map(rod => ({ rod, line: place.get(rod.rod)?.l, at: place.get(rod.rod)?.i ?? 999 }))
    .toSorted((a, b) => a.at - b.at)
}

export function Pad() {
  if (!log.underWay.value) return null
  const rods = rodsInOrder()
  return (
    <section class="pad" aria-label="Trip log">
      <DoneBar />
      <Proposals short />
      {rods.length === 0 ? (
        <p class="plan-note">The trip has no rods yet.</p>
      ) : (
        <div class="pad-rods">
          {rods.map(({ rod, line }) => {
            const name = log.nameOf(rod.rod)
            const tag = line?.tag ?? rod.rod
            return (
              <button
                key={rod.rod}
                type="button"
                class={`pad-rod ${line?.side ?? 'middle'}${rod.out ? '' : ' in'}${isDue(rod) ? ' due' : ''}`}
                disabled={!rod.out && !rod.line}
                aria-label={
                  rod.out ? `${tag} ${sinceCheck(rod)}: strike on ${name}` : `${tag} in: set ${name} as shown`
                }
                onClick={() => void (rod.out ? log.strike(rod.rod) : log.setRods([rod.rod]))}
              >
                <b>{tag}</b> <small>{rod.out ? sinceCheck(rod) : 'in: set'}</small>
              </button>
            )
          })}
        </div>
      )}
      <p class="pad-note">
        Touch the rod with the fish. <Queue />
      </p>
    </section>
  )
}

/** How many entries wait, in a few words. */
export function Queue() {
  const n = log.waiting.value
  if (log.held.value > 0) return <b>{log.held.value} entries only in this page!</b>
  if (log.held.value < 0) return <b>This device keeps no log: hand it on before you close the page.</b>
  return (
    <span class="queue">
      {n === 0
        ? 'All entries are with the boat’s log.'
        : `${n} ${n === 1 ? 'entry waits' : 'entries wait'} on this device.`}
    </span>
  )
}

export function DoneBar() {
  const done = log.done.value
  useEffect(() => {
    if (!done) return
    const timer = setTimeout(() => {
      if (log.done.value === done) log.done.value = null
    }, standing)
    return () => clearTimeout(timer)
  }, [done])
  if (!done) return null
  const struck = done.strike
  return (
    <div class="done-bar">
      <p>
        <b>{capital(done.words)}.</b> {struck && 'Hands first: the rest can be written later.'}
      </p>
      <div class="setting-row">
        <Button label={`Undo: ${done.words}`} onClick={() => void log.undo()}>
          Undo
        </Button>
        {struck && (
          <>
            <Button onClick={() => (fish.value = { strike: struck.id, rod: struck.rod, outcome: 'landed' })}>
              Landed
            </Button>
            <Button onClick={() => void log.lost(struck.rod, { strike: struck.id })}>Lost</Button>
          </>
        )}
        <Button kind="quiet" label="Good: put this note away" onClick={() => (log.done.value = null)}>
          Good
        </Button>
      </div>
      {struck && <Fired most={1} />}
    </div>
  )
}

/** What the last strikes share, as a plain sentence: a hint. */
export function Fired(props: { most: number }) {
  const hints = (log.now.value?.fired ?? []).slice(0, props.most)
  if (hints.length === 0) return null
  return (
    <>
      {hints.map(h => (
        <p key={h} class="fired">
          {sentence(h)}
        </p>
      ))}
      <p class="plan-note">A hint for the next set, not a finding.</p>
    </>
  )
}

const shownAll = signal(false)

/** What the spread shows otherwise than was logged: proposed, never written by itself. */
export function Proposals(props: { short?: boolean }) {
  const rods = log.proposals.value
  const conditions = log.conditionsProposal.value
  const count = rods.length + (conditions ? 1 : 0)
  if (count === 0) return null
  const all = shownAll.value || !props.short
  const listed = all ? rods : rods.slice(0, 1)
  const trying = () => {
    const next = new Set(log.onlyTrying.value)
    for (const r of rods) next.add(r.rod + r.differs)
    if (conditions) next.add(conditions)
    log.onlyTrying.value = next
  }
  return (
    <div class="proposals" role="status">
      <p>
        <b>Shown otherwise than logged.</b> Is it so on the water?
      </p>
      <ul>
        {listed.map(r => (
          <li key={r.rod} class="item-row">
            <span>
              {capital(log.nameOf(r.rod))}: {r.differs}
            </span>
            <Button label={`Log it: ${log.nameOf(r.rod)} as shown`} onClick={() => void log.setRods([r.rod])}>
              Log it
            </Button>
          </li>
        ))}
        {conditions && (all || rods.length === 0) && (
          <li class="item-row">
            <span>{capital(conditions)}</span>
            <Button
              label="Log it: the conditions as shown"
              onClick={() => {
                const shown = log.now.value?.shown
                if (shown) void log.add('conditions', shown, 'Conditions logged as shown')
              }}
            >
              Log it
            </Button>
          </li>
        )}
      </ul>
      <div class="setting-row">
        {rods.length > 1 && (
          <Button onClick={() => void log.setRods(rods.map(r => r.rod))}>Log all {rods.length} lines</Button>
        )}
        {!all && count > 1 && <Button onClick={() => (shownAll.value = true)}>Show all {count}</Button>}
        <Button kind="quiet" onClick={trying}>
          Only trying
        </Button>
      </div>
    </div>
  )
}
