// What a turn does to the spread: play it, scrub it, see when lines come close.
//
// A turn comes in two steps. First the side that was asked for, nominal, which is worked out
// ahead while nobody asks; then the whole of it with intervals and the other side, in its place.
import { useSignal } from '@preact/signals'
import { useEffect, useRef } from 'preact/hooks'
import type { Progress, Tightest, TurnAnswer, TurnAsk } from '../api'
import { askLong, Canceled } from '../engine/client'
import * as doc from '../model/doc'
import { textAt } from '../model/form'
import { settings } from '../model/settings'
import { type Played, played } from '../model/turning'
import { Button, Choice, Stepper } from '../ui/controls'
import { FOOT, length, lengthUnit, readLength, sentence, type Units } from '../words'
import { clock, Player } from './turnplay'

const anglesDeg = ['90', '180', '270']

/** Between samples of the first step, s: as often as lines are compared. */
const coarse = 2

/** How long the choice stands still before its turn is worked out ahead, ms. */
const patience = 150

const worlds = 40

type Busy = '' | 'first' | 'rest' | 'worlds' | 'tightest'

const busyWords: Record<Busy, string> = {
  '': '',
  first: 'Working out the turn…',
  rest: 'A first look: nominal, margins not yet widened by the intervals. Still working out the intervals and the other side…',
  worlds: 'Trying the turn in sampled worlds…',
  tightest: 'Trying radii to both sides…',
}

/** A first step that is under way or done. */
interface Ahead {
  key: string
  first: Promise<TurnAnswer>
  end: AbortController
}

export function Turn() {
  const u = settings.value.units
  const form = doc.form.value
  const to = useSignal<'port' | 'starboard'>(
    textAt(form, 'manoeuvre.to') === 'starboard' ? 'starboard' : 'port',
  )
  const angle = useSignal<string>('180')
  const radius = useSignal(readLength(textAt(form, 'manoeuvre.radius') ?? '') ?? 300 * FOOT)
  const answer = useSignal<Played | null>(null)
  const shown = useSignal('') // the key of what is shown
  const tight = useSignal<Tightest[] | null>(null)
  const busy = useSignal<Busy>('')
  const progress = useSignal<Progress | null>(null)
  const trouble = useSignal('')
  const ending = useRef<AbortController | undefined>(undefined)
  const ahead = useRef<Ahead | undefined>(undefined)
  const text = doc.text.value
  const askedText = useRef(text)

  const request = (): TurnAsk => ({
    text: doc.text.value ?? '',
    units: u,
    to: to.value === 'port' ? -1 : 1,
    angle_rad: (Number(angle.value) * Math.PI) / 180,
    radius_m: radius.value,
    before_s: 60,
    after_s: 120,
    every_s: 1,
    draw: true,
  })
  const now = request()
  const key = JSON.stringify(now)

  const begin = (ask: TurnAsk, key: string): Ahead => {
    ahead.current?.end.abort()
    const end = new AbortController()
    const first = askLong('turn', { ...ask, first: true, every_s: coarse }, undefined, end.signal)
    first.catch(() => {
      if (ahead.current?.first === first) ahead.current = undefined
    })
    ahead.current = { key, first, end }
    return ahead.current
  }
  useEffect(() => {
    if (askedText.current === text) return // written on the way to what is under way
    ending.current?.abort()
    answer.value = null
    tight.value = null
  }, [text])
  useEffect(() => {
    if (busy.value !== '' || doc.working.value || ahead.current?.key === key) return
    const soon = setTimeout(() => begin(now, key), patience)
    return () => clearTimeout(soon)
  }, [key, busy.value, doc.working.value])
  useEffect(
    () => () => {
      ending.current?.abort()
      ahead.current?.end.abort()
    },
    [],
  )

  const during = async (what: Busy, work: (end: AbortSignal) => Promise<void>) => {
    ending.current?.abort()
    const end = new AbortController()
    ending.current = end
    busy.value = what
    progress.value = null
    trouble.value = ''
    try {
      await doc.commit()
      askedText.current = doc.text.value
      await work(end.signal)
    } catch (e) {
      if (!(e instanceof Canceled)) trouble.value = e instanceof Error ? sentence(e.message) : ''
    }
    if (ending.current === end) busy.value = ''
  }
  const run = () =>
    during('first', async end => {
      const ask = request()
      const key = JSON.stringify(ask)
      const last = ahead.current
      const started = last?.key === key && !last.end.signal.aborted ? last : begin(ask, key)
      end.addEventListener('abort', () => started.end.abort())
      const first = await started.first
      if (end.aborted) return
      answer.value = played(first)
      shown.value = key
      busy.value = 'rest'
      const whole = await askLong('turn', ask, undefined, end)
      if (!end.aborted) answer.value = played(whole)
    })
  const often = () =>
    during('worlds', async end => {
      const ask = request()
      const got = await askLong('turn', { ...ask, worlds, seed: 1 }, p => (progress.value = p), end)
      if (end.aborted) return
      answer.value = played(got)
      shown.value = JSON.stringify(ask)
    })
  const tightest = () =>
    during('tightest', async end => {
      ahead.current?.end.abort()
      const got = await askLong('tightest', request(), undefined, end)
      if (!end.aborted) tight.value = got.sides
    })
  const stop = () => {
    ending.current?.abort()
    busy.value = ''
  }
  const per = u === 'us' ? FOOT : 1
  const turn = answer.value
  const done = progress.value
  return (
    <div class="turn">
      <section class="turn-words" aria-label="Which turn">
        <h1>Turn</h1>
        <Choice
          label="To"
          value={to.value}
          options={[
            { value: 'port', text: 'port' },
            { value: 'starboard', text: 'starboard' },
          ]}
          onValue={v => (to.value = v)}
        />
        <Choice
          label="How far"
          value={angle.value}
          options={anglesDeg.map(a => ({ value: a, text: `${a}°` }))}
          onValue={v => (angle.value = v)}
        />
        <Stepper
          label="Radius"
          hint="through the surface water"
          value={Math.round(radius.value / per)}
          unit={lengthUnit(u)}
          digits={0}
          min={u === 'us' ? 30 : 10}
          max={u === 'us' ? 2000 : 600}
          step={u === 'us' ? 10 : 5}
          big={10}
          onValue={v => (radius.value = v * per)}
        />
        <div class="setting-row">
          <Button kind="main" disabled={busy.value !== ''} onClick={() => void run()}>
            Run the turn
          </Button>
          <Button disabled={busy.value !== ''} onClick={() => void tightest()}>
            How tight, each side?
          </Button>
          {busy.value !== '' && <Button onClick={stop}>Stop</Button>}
        </div>
        <p role="status">
          {busyWords[busy.value]}
          {done && done.of > 0 && ` ${done.done} of ${done.of}`}
        </p>
        {trouble.value && (
          <p class="trouble-words" role="alert">
            <b>! </b>
            {trouble.value}
          </p>
        )}
        {tight.value && <TightWords sides={tight.value} u={u} />}
        {turn && shown.value !== key && (
          <p class="turn-first">What is shown is another turn than the one chosen above: run it again.</p>
        )}
        {turn?.first && busy.value === '' && (
          <p class="turn-first">Stopped at the first look: no intervals, and nothing of the other side.</p>
        )}
        {turn?.words.map((w, i) => (
          <p key={w} class={`${i === 0 ? 'turn-first' : ''}${turn.first ? ' pending' : ''}`}>
            {sentence(w)}
          </p>
        ))}
        {turn && !turn.first && busy.value === '' && shown.value === key && !turn.worlds && (
          <div class="setting-row">
            <Button onClick={() => void often()}>How often, in {worlds} sampled worlds?</Button>
          </div>
        )}
        <p class="plan-note">
          Lines only, not sea state or traffic: a boat with lines out must still keep a look-out and give way.
          Depths hold within their intervals 4 times in 5. {doc.isDemo.value && <b>Demo data, invented. </b>}
          Not for navigation.
        </p>
      </section>
      {turn && <Player turn={turn} name={shown.value} u={u} />}
    </div>
  )
}

function TightWords(props: { sides: Tightest[]; u: Units }) {
  const name = (id: string | undefined) => doc.lines.value.find(l => l.state.rod === id)?.name ?? id ?? ''
  return (
    <ul class="warnings">
      {props.sides.map(s => (
        <li key={s.to}>
          <b>To {s.to < 0 ? 'port' : 'starboard'}: </b>
          {s.radius_m > 0
            ? `down to ${length(props.u, s.radius_m)} radius the margins hold; ${((s.angle_rad * 180) / Math.PI).toFixed(0)}° take ${clock(s.time_s)}.`
            : 'no radius that was tried keeps the margins.'}
          {s.gives && ` Tighter, the ${name(s.gives.a)} and the ${name(s.gives.b)} come too close first.`}
        </li>
      ))}
    </ul>
  )
}
