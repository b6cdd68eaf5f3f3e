// A whole spread laid out: plans side by side, each with its reasons, any one to take.
import { useSignal } from '@preact/signals'
import { useEffect, useLayoutEffect, useMemo, useRef } from 'preact/hooks'
import type { Fan, LayAnswer, Plan } from '../api'
import { askLong, Canceled } from '../engine/client'
import * as doc from '../model/doc'
import { appending } from '../model/edits'
import { isOn, listAt, textAt } from '../model/form'
import { settings } from '../model/settings'
import { flat, type Line } from '../model/tracks'
import { extentOf, type Frame, layOut } from '../plan/frame'
import { Ground, LineShapes } from '../plan/LinesPlan'
import { Button, Select, Stepper, Toggle } from '../ui/controls'
import { capital, FOOT, length, lengthUnit, readLength, sentence, sideWord, span, type Units } from '../words'
import { view } from './view'

export function Lay() {
  const u = settings.value.units
  const answer = useSignal<{ of: string; got: LayAnswer } | null>(null)
  const progress = useSignal<{ text: string; part: number } | null>(null)
  const trouble = useSignal('')
  const seed = useSignal(1)
  const ending = useRef<AbortController | undefined>(undefined)
  const text = doc.text.value
  useEffect(() => () => ending.current?.abort(), [])

  const plan = async (next: number) => {
    await doc.commit()
    const of = doc.text.value
    if (of === null) return
    seed.value = next
    trouble.value = ''
    progress.value = { text: 'reading the gear', part: 0 }
    const end = new AbortController()
    ending.current = end
    try {
      const got = await askLong(
        'lay',
        { text: of, units: u, top: 2, seed: next },
        p => {
          progress.value = { text: p.text ?? '', part: p.of > 0 ? p.done / p.of : 0 }
        },
        end.signal,
      )
      answer.value = { of, got }
    } catch (e) {
      trouble.value =
        e instanceof Canceled
          ? 'Stopped before there was a plan.'
          : e instanceof Error
            ? sentence(e.message)
            : ''
    }
    progress.value = null
  }
  const stale = answer.value !== null && answer.value.of !== text
  const take = async (i: number) => {
    const chosen = answer.value?.got.plans[i]
    if (!chosen) return
    await doc.open(chosen.text, `took plan ${i + 1}`)
    view.value = 'spread'
  }
  return (
    <div class="page lay">
      <h1>Lay out</h1>
      <p>
        Says which rod, with which settings, for the depths you want, so that all stay apart. Your own gear
        and limits are used.
      </p>
      <Wants u={u} />
      <Locks />
      <div class="setting-row">
        {progress.value === null ? (
          <>
            <Button kind="main" onClick={() => void plan(1)}>
              Lay it out
            </Button>
            {answer.value && <Button onClick={() => void plan(seed.value + 1)}>Look for others</Button>}
          </>
        ) : (
          <Button onClick={() => ending.current?.abort()}>Stop: keep the best so far</Button>
        )}
      </div>
      {progress.value && (
        <div role="status" class="lay-progress">
          <progress max="1" value={progress.value.part} aria-label="How far the planner has come" />
          <span>{sentence(progress.value.text)}</span>
        </div>
      )}
      {trouble.value && (
        <p class="trouble-words" role="alert">
          <b>! </b>
          {trouble.value}
        </p>
      )}
      <Again u={u} />
      {answer.value && (
        <>
          <p role="status">
            <b>{answer.value.got.headline}</b>
          </p>
          {stale && <p class="plan-note">The spread has changed since these plans were made.</p>}
          {(answer.value.got.layout?.conflict ?? []).length > 0 && (
            <ul class="warnings">
              {answer.value.got.layout?.conflict?.map(c => (
                <li key={c.text}>{sentence(c.text)}</li>
              ))}
            </ul>
          )}
          <div class="plans">
            {answer.value.got.layout?.plans.map((p, i) => (
              <OnePlan
                key={p.score}
                plan={p}
                index={i}
                answer={answer.value!.got}
                u={u}
                onTake={() => void take(i)}
              />
            ))}
          </div>
          <details>
            <summary>All of it in words and numbers</summary>
            {/* biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reached by keys */}
            <pre class="words" tabIndex={0}>
              {answer.value.got.words}
            </pre>
          </details>
        </>
      )}
    </div>
  )
}

/** The depth bands that are wanted. */
function Wants(props: { u: Units }) {
  const { u } = props
  const bands = listAt(doc.form.value, 'wants.bands')
  const per = u === 'us' ? FOOT : 1
  const write = (m: number) => `${(m / per).toFixed(u === 'us' ? 0 : 1)} ${lengthUnit(u)}`
  const set = (i: number, key: 'from' | 'to', v: number) => {
    const text = write(v * per)
    void doc.put(`wants.bands[${i}].${key}`, text, `wanted band ${i + 1} ${key} ${text}`, `band ${i} ${key}`)
  }
  const add = () => {
    const last = bands.at(-1)
    const from = last ? (readLength(textAt(last, 'to') ?? '') ?? 12) : 40 * FOOT
    const band = { from: write(from), to: write(from + 20 * FOOT) }
    void doc.edit([appending(doc.form.value, 'wants.bands', band)], 'added a wanted band')
  }
  return (
    <section aria-labelledby="lay-wants">
      <h2 id="lay-wants">Depths wanted</h2>
      {bands.length === 0 && (
        <p>
          None is given: every depth counts alike, or as the water’s temperature suggests for the fish you
          want.
        </p>
      )}
      {bands.map((b, i) => {
        const at = (k: string) =>
          Number(((readLength(textAt(b, k) ?? '') ?? 0) / per).toFixed(u === 'us' ? 0 : 1))
        const common = {
          unit: lengthUnit(u),
          digits: u === 'us' ? 0 : 1,
          min: 0,
          max: u === 'us' ? 600 : 180,
          step: u === 'us' ? 5 : 1,
        }
        return (
          <fieldset key={i} class="item band">
            <legend>
              Band {i + 1}
              {textAt(b, 'weight') ? <small> weight {textAt(b, 'weight')}</small> : null}
            </legend>
            <Stepper label="From" value={at('from')} {...common} onValue={v => set(i, 'from', v)} />
            <Stepper label="To" value={at('to')} {...common} onValue={v => set(i, 'to', v)} />
            <Button
              label={`Take out band ${i + 1}`}
              onClick={() => void doc.remove(`wants.bands[${i}]`, `took band ${i + 1} out`)}
            >
              Take out
            </Button>
          </fieldset>
        )
      })}
      <Button onClick={add}>Add a band</Button>
    </section>
  )
}

/** Rods that stay as they are. */
function Locks() {
  const rods = doc.lines.value.filter(l => !l.device)
  return (
    <details class="locks">
      <summary>Lock rods that stay as they are</summary>
      <div class="setting-row">
        {rods.map(l => {
          const on = isOn(textAt(doc.form.value, `rods.${l.id}.fixed`))
          return (
            <Toggle
              key={l.id}
              label={`${l.tag} ${l.name}`}
              on={on}
              onValue={v =>
                void doc.put(`rods.${l.id}.fixed`, String(v), `${v ? 'locked' : 'freed'} the ${l.name}`)
              }
            />
          )
        })}
      </div>
    </details>
  )
}

/** One line is in and the rest are out: how does it go out again? */
function Again(props: { u: Units }) {
  const rods = doc.lines.value.filter(l => !l.device)
  const rod = useSignal('')
  const words = useSignal('')
  const next = useSignal('')
  const busy = useSignal(false)
  const id = rods.some(r => r.id === rod.value) ? rod.value : (rods[0]?.id ?? '')
  const find = async () => {
    await doc.commit()
    busy.value = true
    words.value = ''
    next.value = ''
    try {
      const got = await askLong('reset', { text: doc.text.value ?? '', units: props.u, rod: id })
      words.value = got.words
      if (got.reset?.how === 'slide' || got.reset?.how === 'other') next.value = got.text ?? ''
    } catch (e) {
      words.value = e instanceof Error ? sentence(e.message) : ''
    }
    busy.value = false
  }
  const take = async () => {
    await doc.open(next.value, 'set one rod again')
    view.value = 'spread'
  }
  return (
    <details class="again">
      <summary>Set one rod again while the rest are out</summary>
      <Select
        label="The rod that is in"
        value={id}
        options={rods.map(r => ({ value: r.id, text: `${r.tag} ${r.name}` }))}
        onValue={v => (rod.value = v)}
      />
      <div class="setting-row">
        <Button disabled={busy.value} onClick={() => void find()}>
          How does it go out?
        </Button>
        {next.value && (
          <Button kind="main" onClick={() => void take()}>
            Take this
          </Button>
        )}
      </div>
      <p role="status">{busy.value ? 'Looking…' : words.value}</p>
    </details>
  )
}

function linesOfFan(fan: Fan): Line[] {
  const make =
    (device: boolean) =>
    (t: Fan['rods'][number]): Line => ({
      id: device ? `${t.rod}/` : t.rod,
      device,
      tag: '',
      name: t.position ?? t.rod,
      side: sideWord(t.side),
      state: { ...t, position: t.position ?? '', settings: t.settings ?? '' },
      curves: t.parts.map(p => ({ id: p.id, kind: p.kind, points: flat(p.points) })),
      rows: [],
      pending: false,
    })
  return [...fan.rods.map(make(false)), ...(fan.devices ?? []).map(make(true))]
}

function OnePlan(props: { plan: Plan; index: number; answer: LayAnswer; u: Units; onTake: () => void }) {
  const { plan, u, index } = props
  const lines = useMemo(() => (plan.fan ? linesOfFan(plan.fan) : []), [plan])
  const reasons = new Map(props.answer.plans[index]?.reasons.map(r => [r.rod, r.text]))
  const track = (id: string) => lines.find(l => l.id === id)
  const name = (id: string) => track(id)?.name ?? doc.lines.value.find(l => l.id === id)?.name ?? id
  return (
    <section class="one-plan" aria-labelledby={`plan-${index}`}>
      <h2 id={`plan-${index}`}>
        Plan {index + 1} <small>{Math.round(plan.score * 10)} points of 10</small>
      </h2>
      <PlanPicture lines={lines} />
      <p>
        About {Math.max(1, Math.round(plan.set_minutes))} minutes to set with {plan.people} aboard.
        {plan.nearest && (
          <>
            {' '}
            Nearest: {name(plan.nearest.a)} and {name(plan.nearest.b)}, {length(u, plan.nearest.distance_m)}{' '}
            apart.
          </>
        )}
      </p>
      <Button kind="main" label={`Take plan ${index + 1}`} onClick={props.onTake}>
        Take plan {index + 1}
      </Button>
      <ol class="set-order">
        {plan.set.map(s => {
          const l = track(s.rod)
          const lure = l?.state.lures[0]
          return (
            <li key={s.rod}>
              <b>{capital(name(s.rod))}</b>: {plan.rods.find(r => r.rod === s.rod)?.settings}
              {lure &&
                `; ${length(u, Math.max(0, lure.depth_m))} deep (${span(u, lure.depth_lo_m, lure.depth_hi_m)})`}
              .<small> {reasons.get(s.rod)}</small>
            </li>
          )
        })}
      </ol>
      {(plan.left ?? []).length > 0 && (
        <p>Stays in the rack: {plan.left?.map(l => name(l.rod)).join(', ')}.</p>
      )}
      <p class="plan-note">Apart in straight water; in a turn lines swing: see Turn. Not for navigation.</p>
    </section>
  )
}

/** A plan from astern, small. */
function PlanPicture(props: { lines: Line[] }) {
  const host = useRef<HTMLDivElement>(null)
  const width = useSignal(0)
  useLayoutEffect(() => {
    const el = host.current
    if (!el) return
    const watch = new ResizeObserver(() => {
      width.value = el.clientWidth
    })
    watch.observe(el)
    return () => watch.disconnect()
  }, [])
  const water = doc.solved.value?.water
  const height = 190
  const frame: Frame | undefined = useMemo(
    () =>
      width.value > 40
        ? layOut(
            extentOf(props.lines, [], water?.bottom_m),
            { width: width.value, height, left: 1, title: 1, axis: 1, gap: 0 },
            'astern',
          )
        : undefined,
    [width.value, props.lines, water],
  )
  const box = frame?.boxes.astern
  return (
    <div class="plan plan-picture" ref={host}>
      {frame && box && (
        <svg width={width.value} height={height} role="img" aria-label="The plan from astern">
          <svg x={box.x} y={box.y} width={box.w} height={box.h} class="view">
            <Ground
              frame={frame}
              view="astern"
              units={settings.value.units}
              hull={[]}
              profile={(water?.temperature_c ?? []) as [number, number][]}
              bottom={water?.bottom_m}
            />
            {props.lines.map(l => (
              <LineShapes key={l.id} line={l} frame={frame} view="astern" lit={false} dim={false} />
            ))}
          </svg>
          <rect class="frame" x={box.x} y={box.y} width={box.w} height={box.h} />
        </svg>
      )}
    </div>
  )
}
