// The trip: what is out, since when, what struck, what was read; and its way to the boat's
// log.
import '../styles/log.css'
import { useSignal } from '@preact/signals'
import type { DaySheet, RodNow } from '../api'
import { askLong } from '../engine/client'
import * as log from '../log/log'
import * as doc from '../model/doc'
import { Button, Choice } from '../ui/controls'
import { capital } from '../words'
import { Catches } from './logcatches'
import { Entries } from './logentries'
import { Field } from './logfield'
import { FishDialog } from './logfish'
import { Conditions, Measured, Note } from './logforms'
import { HandOn } from './loghand'
import { DoneBar, Fired, isDue, minutes, Pad as PadRods, Proposals, rodsInOrder, sinceCheck } from './logpad'
import { Together, WhereWords } from './logplace'

void log.open()

/** The rods under the thumb, for the spread. */
export function Pad() {
  return (
    <>
      <PadRods />
      <FishDialog />
    </>
  )
}

/** The strike of the rod in hand, beside its settings; and their way into the log. */
export function TrayStrike(props: { rod: string }) {
  if (!log.underWay.value || !log.now.value?.rods.some(r => r.rod === props.rod && r.out)) return null
  const name = log.nameOf(props.rod)
  return (
    <>
      {log.proposals.value.some(r => r.rod === props.rod) && (
        <Button label={`Log it: ${name} as shown`} onClick={() => void log.setRods([props.rod])}>
          Log it
        </Button>
      )}
      <Button kind="main" label={`Strike on ${name}, in hand`} onClick={() => void log.strike(props.rod)}>
        Strike
      </Button>
    </>
  )
}

export function Log() {
  const under = log.underWay.value
  return (
    <div class="page log">
      <h1>Log</h1>
      <Standing />
      <DoneBar />
      {log.trouble.value && (
        <p class="trouble-words" role="alert">
          <b>! </b>
          {log.trouble.value}
        </p>
      )}
      {log.ready.value && !under && !working() && <Begin />}
      {under && (
        <>
          <Proposals />
          <Lines />
        </>
      )}
      <Catches />
      {log.now.value && log.now.value.fired.length > 0 && (
        <section aria-labelledby="log-fired">
          <h2 id="log-fired">What fired</h2>
          <Fired most={3} />
        </section>
      )}
      {under && (
        <section aria-labelledby="log-write">
          <h2 id="log-write">Write down</h2>
          <Conditions />
          <Measured />
          <Note />
          <WhereWords />
        </section>
      )}
      {log.now.value && <Entries />}
      {log.now.value && <Day />}
      <HandOn />
      {under && (
        <section aria-labelledby="log-end">
          <h2 id="log-end">End the trip</h2>
          <p>Every line that is still out is logged as in.</p>
          <Button onClick={() => void log.endTrip()}>End the trip</Button>
        </section>
      )}
      <p class="plan-note">
        Someone stays at the wheel and keeps a look-out; hands, hooks and a line under load come before any
        entry. Not for navigation.
      </p>
      <FishDialog />
    </div>
  )
}

/** A trip is chosen and has not been worked out yet. */
function working(): boolean {
  return log.trip.value !== null && log.now.value === null
}

function span(ms: number): string {
  const m = minutes(ms)
  return m < 60 ? `${m} min` : `${Math.floor(m / 60)} h ${m % 60} min`
}

function Standing() {
  const now = log.now.value
  return (
    <section aria-label="How it stands">
      {!log.ready.value || working() ? (
        <p role="status">Opening the log…</p>
      ) : now ? (
        <p>
          <b>{now.name || 'Trip'}</b>, {now.day},{' '}
          {now.ended ? 'ended' : `under way for ${span(log.clock.value - now.from_ms)}`}:{' '}
          {now.rod_hours.toFixed(1)} rod-hours, {now.catches.length}{' '}
          {now.catches.length === 1 ? 'strike' : 'strikes'}.
        </p>
      ) : (
        <p>No trip is logged on this device yet.</p>
      )}
      <Together />
      <LinkWords />
      {now?.notices.map(n => (
        <p key={n.code + n.text} class="plan-note">
          <b>Note: </b>
          {capital(n.text)}.
        </p>
      ))}
    </section>
  )
}

/** How it stands with the boat's log, and with this device's room. */
function LinkWords() {
  const l = log.link.value
  const n = log.waiting.value
  const wait = `${n} ${n === 1 ? 'entry waits' : 'entries wait'} on this device`
  const off = l.state === 'joined' && Math.abs(l.clock) > 5 * 60_000
  return (
    <>
      <p role="status" class="link-words">
        {l.state === 'joined' &&
          (n === 0 ? 'All entries are with the boat’s log.' : `${wait} for the boat’s log.`)}
        {l.state === 'none' &&
          (n === 0
            ? 'Kept on this device.'
            : `Kept on this device: ${n} ${n === 1 ? 'entry' : 'entries'}. Hand them on as a file below.`)}
        {l.state === 'away' && `The boat’s log is out of reach. ${wait} for it.`}
        {l.state === 'unpaired' &&
          `The boat’s server wants its pairing code again: open its first page. ${wait} for it.`}
        {l.state === 'full' && `The boat’s disk is full: make room there. ${wait} for it.`}
        {l.state === 'trouble' && `The boat’s log did not answer as it should (${l.words}). ${wait}.`}
      </p>
      {l.state === 'none' && (
        <Button onClick={() => void log.sync(true)}>Look for the boat’s log at this address</Button>
      )}
      {(l.state === 'away' || l.state === 'full' || l.state === 'trouble') && (
        <Button onClick={() => void log.sync(true)}>Try again now</Button>
      )}
      {off && l.state === 'joined' && (
        <p class="trouble-words" role="alert">
          <b>! </b>
          This device’s clock is {span(Math.abs(l.clock))} {l.clock > 0 ? 'behind' : 'ahead of'} the boat’s.
          Set it; entries keep their order all the same.
        </p>
      )}
      {log.held.value !== 0 && (
        <p class="trouble-words" role="alert">
          <b>! </b>
          {log.held.value < 0
            ? 'This browser keeps nothing for the app (private mode, or no room). The log lasts only as long as this page: hand it on below before you close it.'
            : `This device has no room left: ${log.held.value} ${log.held.value === 1 ? 'entry is' : 'entries are'} only in this page. Make room, or hand them on below before you close it.`}
        </p>
      )}
      {log.refused.value.length > 0 && (
        <div role="alert">
          <p class="trouble-words">
            <b>! </b>
            The boat’s log refuses {log.refused.value.length}{' '}
            {log.refused.value.length === 1 ? 'entry' : 'entries'}; kept here:
          </p>
          <ul class="warnings">
            {log.refused.value.slice(0, 5).map(k => (
              <li key={k.id}>
                {k.kind}
                {k.event.rod ? ` of ${log.nameOf(k.event.rod)}` : ''}: {k.refused}
              </li>
            ))}
          </ul>
        </div>
      )}
    </>
  )
}

function Begin() {
  const name = useSignal('')
  const from = useSignal('')
  const anglers = useSignal('')
  const begin = (out: boolean) => {
    const n = Number.parseInt(anglers.value, 10)
    void log.beginTrip(
      {
        ...(name.value.trim() ? { name: name.value.trim() } : {}),
        ...(from.value.trim() ? { from: from.value.trim() } : {}),
        ...(n > 0 ? { anglers: n } : {}),
      },
      out,
    )
  }
  const empty = doc.text.value === null
  return (
    <section aria-labelledby="log-begin">
      <h2 id="log-begin">Begin a trip</h2>
      <p>
        {empty
          ? 'Set a rod, or open a file or the demo, under Spread first: the log takes the rods from there.'
          : 'The rods are those of the open spread. From then on one touch on a rod logs a strike, here and under Spread, with the depth it ran at; “set and no bite” counts as effort.'}
      </p>
      {doc.isDemo.value && <p class="plan-note">The open spread is the demo, invented: name the trip so.</p>}
      <div class="fields">
        <Field label="Name" hint="if you like" value={name.value} onValue={v => (name.value = v)} />
        <Field label="From" hint="harbor" value={from.value} onValue={v => (from.value = v)} />
        <Field label="Anglers" number value={anglers.value} onValue={v => (anglers.value = v)} />
      </div>
      <div class="setting-row">
        <Button kind="main" disabled={empty} onClick={() => begin(false)}>
          Begin, lines still in
        </Button>
        <Button disabled={empty} onClick={() => begin(true)}>
          Begin, all lines out as shown
        </Button>
      </div>
    </section>
  )
}

function Lines() {
  const rods = rodsInOrder()
  const out = rods.filter(r => r.rod.out)
  const settable = rods.filter(r => !r.rod.out && r.rod.line)
  return (
    <section aria-labelledby="log-lines">
      <h2 id="log-lines">
        Lines: {out.length} out, {rods.length - out.length} in
      </h2>
      <div class="setting-row">
        {out.length > 0 && (
          <Button
            onClick={() =>
              void log.mark(
                'line-checked',
                out.map(r => r.rod.rod),
              )
            }
          >
            All out run free
          </Button>
        )}
        {settable.length > 0 && (
          <Button onClick={() => void log.setRods(settable.map(r => r.rod.rod))}>
            Set {settable.length === 1 ? 'the one' : `all ${settable.length}`} in as shown
          </Button>
        )}
      </div>
      <Choice
        label="Check lines every"
        value={String(log.checkEvery.value)}
        options={['15', '20', '30', '60'].map(m => ({ value: m, text: `${m} min` }))}
        onValue={v => log.setCheckEvery(Number(v))}
      />
      <ul class="log-lines">
        {rods.map(({ rod, line }) => (
          <li key={rod.rod} class={`log-line ${line?.side ?? 'middle'}`}>
            <p>
              <b>
                {line?.tag} {capital(log.nameOf(rod.rod))}
              </b>{' '}
              <LineWords rod={rod} />
            </p>
            <div class={`setting-row${rod.out ? ' four' : ''}`}>
              {rod.out ? (
                <>
                  <Button
                    kind="main"
                    label={`Strike on ${log.nameOf(rod.rod)}`}
                    onClick={() => void log.strike(rod.rod)}
                  >
                    Strike
                  </Button>
                  <Button
                    label={`Runs free: ${log.nameOf(rod.rod)}`}
                    onClick={() => void log.mark('line-checked', [rod.rod])}
                  >
                    Runs free
                  </Button>
                  <Button
                    label={`Fouled: ${log.nameOf(rod.rod)}`}
                    onClick={() => void log.mark('line-fouled', [rod.rod])}
                  >
                    Fouled
                  </Button>
                  <Button
                    label={`In: ${log.nameOf(rod.rod)} is reeled in`}
                    onClick={() => void log.mark('line-in', [rod.rod])}
                  >
                    In
                  </Button>
                </>
              ) : (
                <Button
                  disabled={!rod.line}
                  label={`Set as shown: ${log.nameOf(rod.rod)}`}
                  onClick={() => void log.setRods([rod.rod])}
                >
                  Set as shown
                </Button>
              )}
            </div>
          </li>
        ))}
      </ul>
    </section>
  )
}

function LineWords(props: { rod: RodNow }) {
  const { rod } = props
  const effort = `${rod.rod_hours.toFixed(1)} rod-hours, ${rod.strikes} ${rod.strikes === 1 ? 'strike' : 'strikes'}`
  if (!rod.out) {
    return (
      <small>
        in; {rod.shown ? `shown: ${rod.shown}` : 'not in the open spread'}; {effort}
      </small>
    )
  }
  return (
    <small>
      out {span(log.clock.value - (rod.since_ms ?? 0))},{' '}
      {rod.fouled ? (
        <b>fouled: no effort since it was last checked</b>
      ) : isDue(rod) ? (
        <b>check it: {sinceCheck(rod)} since it was last seen to run free</b>
      ) : (
        `checked ${sinceCheck(rod)} ago`
      )}
      ; {rod.settings}; {effort}
    </small>
  )
}

/** What a charter is asked about the day. */
function Day() {
  const sheet = useSignal<DaySheet | null>(null)
  const trouble = useSignal('')
  const day = log.now.value?.day ?? ''
  const make = async () => {
    try {
      const of = new Set(log.trips.value.filter(t => t.at.slice(0, 10) === day).map(t => t.id))
      const events = await log.allEvents(k => k.trip === '' || of.has(k.trip))
      sheet.value = (await askLong('day', { events, day })).sheet
      trouble.value = ''
    } catch (e) {
      trouble.value = log.wordsOf(e)
    }
  }
  const s = sheet.value
  return (
    <section aria-labelledby="log-day">
      <h2 id="log-day">The day’s sheet</h2>
      <Button onClick={() => void make()}>Make the sheet of {day}</Button>
      {trouble.value && <p class="trouble-words">{trouble.value}</p>}
      {s && (
        <div class="day-sheet" role="status">
          {s.trips.map(t => (
            <p key={t.from}>
              <b>{t.name || t.boat || 'Trip'}</b>: {t.hours.toFixed(1)} h out, lines fished{' '}
              {t.lines_hours.toFixed(1)} h, at most {t.lines} at once;{' '}
              {t.anglers > 0
                ? `${t.anglers} anglers, ${t.angler_hours.toFixed(1)} angler-hours`
                : 'how many anglers was not given'}
              .
            </p>
          ))}
          {s.species.length > 0 && (
            <table>
              <thead>
                <tr>
                  <th scope="col">Species</th>
                  <th scope="col">Kept</th>
                  <th scope="col">Released</th>
                  <th scope="col">Not said</th>
                </tr>
              </thead>
              <tbody>
                {s.species.map(f => (
                  <tr key={f.species}>
                    <th scope="row">{f.species || 'not known'}</th>
                    <td>{f.kept}</td>
                    <td>{f.released}</td>
                    <td>{f.landed_fate_not_given}</td>
                  </tr>
                ))}
              </tbody>
            </table>
          )}
          <p>
            {s.strikes} strikes in {s.rod_hours.toFixed(1)} rod-hours: {s.lost} lost,{' '}
            {s.strikes_of_unknown_end} of which no more is known.
          </p>
          <p class="plan-note">What must be reported, how and by when is for local rules.</p>
        </div>
      )}
    </section>
  )
}
