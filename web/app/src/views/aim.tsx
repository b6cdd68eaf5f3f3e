// Which settings get a lure where it is wanted: touch the place on the view from astern.
import { useSignal } from '@preact/signals'
import { useEffect, useLayoutEffect, useMemo, useRef } from 'preact/hooks'
import type { Aim as AimAnswer, AimLike, Paths, Way } from '../api'
import { askLong, Canceled } from '../engine/client'
import * as doc from '../model/doc'
import { owned } from '../model/edits'
import { settings } from '../model/settings'
import { believed, type Line } from '../model/tracks'
import { type Extent, extentOf, type Frame, layOut, project } from '../plan/frame'
import { Axes, Ground, LineShapes } from '../plan/LinesPlan'
import { Button, Select, Stepper, Toggle } from '../ui/controls'
import { capital, FOOT, length, lengthUnit, sentence, sideWords, span, type Units } from '../words'
import { view } from './view'

interface Target {
  depth: number // m
  side: number | null // m to starboard; null: anywhere
}

export function Aim() {
  const u = settings.value.units
  const rods = doc.lines.value.filter(l => !l.device)
  const picked = useSignal<string | null>(null)
  const target = useSignal<Target | null>(null)
  const paths = useSignal<Paths | null>(null)
  const answer = useSignal<AimAnswer | null>(null)
  const trouble = useSignal('')
  const busy = useSignal(false)
  const id = [picked.value, doc.selected.value].find(x => rods.some(r => r.id === x)) ?? rods[0]?.id ?? ''
  const line = rods.find(r => r.id === id)
  const lure = line?.state.lures.at(-1)
  const text = doc.text.value
  const want = target.value ?? (lure ? { depth: Math.round(lure.depth_m / FOOT) * FOOT, side: null } : null)

  useEffect(() => {
    if (text === null || !id) return
    const end = new AbortController()
    paths.value = null
    askLong('paths', { text, units: u, rod: id }, undefined, end.signal).then(
      a => {
        if (!end.signal.aborted) paths.value = a.paths
      },
      () => {}, // A rod without paths is still aimed by numbers.
    )
    return () => end.abort()
  }, [text, id, u])

  useEffect(() => {
    if (text === null || !id || !target.value) {
      answer.value = null
      return
    }
    const { depth, side } = target.value
    const end = new AbortController()
    const wait = setTimeout(async () => {
      busy.value = true
      trouble.value = ''
      try {
        const outward = side === null ? {} : { side_m: Math.max(0, line?.side === 'port' ? -side : side) }
        const got = await askLong(
          'aim',
          { text, units: u, rod: id, depth_m: depth, ...outward, intervals: true },
          undefined,
          end.signal,
        )
        if (!end.signal.aborted) answer.value = got
      } catch (e) {
        if (end.signal.aborted || e instanceof Canceled) return
        answer.value = null
        trouble.value = e instanceof Error ? e.message : ''
      } finally {
        if (!end.signal.aborted) busy.value = false
      }
    }, 250)
    return () => {
      clearTimeout(wait)
      end.abort()
    }
  }, [text, id, u, target.value])

  if (!line || !want) {
    return (
      <div class="page">
        <h1>Aim</h1>
        <p>No rod can be aimed yet: the spread has none that could be worked out.</p>
      </div>
    )
  }
  const per = u === 'us' ? FOOT : 1
  const digits = u === 'us' ? 0 : 1
  return (
    <div class="aim">
      <section class="aim-plan" aria-label="From astern">
        <p class="headline">
          {target.value ? '' : `Touch where the lure of the ${line.name} should run. `}
          {paths.value && paths.value.paths.length > 1
            ? `Each path is one ${paths.value.vary} mark, ticked with the line out.`
            : ''}
        </p>
        <ReachPlan line={line} paths={paths.value} target={target.value} onTarget={t => (target.value = t)} />
      </section>
      <section class="hand-side" aria-label="What is wanted, and ways to get there">
        <h1>Aim</h1>
        <Select
          label="Rod"
          value={id}
          options={rods.map(r => ({ value: r.id, text: `${r.tag} ${r.name}` }))}
          onValue={v => {
            picked.value = v
            target.value = null
            answer.value = null
          }}
        />
        <Stepper
          label="Depth wanted"
          value={Number((want.depth / per).toFixed(digits))}
          unit={lengthUnit(u)}
          digits={digits}
          min={0}
          max={u === 'us' ? 600 : 180}
          step={u === 'us' ? 1 : 0.5}
          big={u === 'us' ? 10 : 4}
          onValue={v => (target.value = { ...want, depth: v * per })}
        />
        <div class="setting-row">
          <Toggle
            label="At one side only"
            on={want.side !== null}
            onValue={on => (target.value = { ...want, side: on ? (lure?.side_m ?? 0) : null })}
          />
        </div>
        {want.side !== null && (
          <Stepper
            label="To the side"
            hint={`from the center line, to ${line.side === 'port' ? 'port' : 'starboard'}`}
            value={Number((Math.abs(want.side) / per).toFixed(digits))}
            unit={lengthUnit(u)}
            digits={digits}
            min={0}
            max={u === 'us' ? 300 : 90}
            step={u === 'us' ? 1 : 0.5}
            big={u === 'us' ? 10 : 4}
            onValue={v => (target.value = { ...want, side: (line.side === 'port' ? -1 : 1) * v * per })}
          />
        )}
        <div class="aim-ways" aria-live="polite">
          {busy.value && <p>Looking for ways…</p>}
          {trouble.value && (
            <p class="trouble-words">
              <b>! </b>
              {sentence(trouble.value)}
            </p>
          )}
          {answer.value && !busy.value && <Ways answer={answer.value} line={line} u={u} />}
          {!target.value && (
            <p>Choose a depth, or touch a place in the view from astern, to see the ways to get there.</p>
          )}
        </div>
        <Heard u={u} />
      </section>
    </div>
  )
}

/** Writes the settings that a way is: OWNER.KEY=VALUE each, as for the command line. */
export async function takeWay(set: readonly string[], what: string): Promise<boolean> {
  const edits = set.map(s => {
    const at = s.indexOf('=')
    return { ...owned(s.slice(0, at)), value: s.slice(at + 1) }
  })
  return doc.edit(edits, what)
}

const nameOf = (id: string) => doc.lines.value.find(l => l.id === id)?.name ?? id

/** A depth with its interval. */
function deepWords(
  u: Units,
  b: { depth_m: number; depth_lo_m: number; depth_hi_m: number } | undefined,
  depth = b?.depth_m ?? 0,
): string {
  const within = b ? ` (${span(u, b.depth_lo_m, b.depth_hi_m)} ${lengthUnit(u)})` : ''
  return `${length(u, Math.max(0, depth))} deep${within}`
}

function Ways(props: { answer: AimAnswer; line: Line; u: Units }) {
  const { answer, line, u } = props
  const wanted = `${length(u, answer.depth_m)}${answer.side_m === undefined ? '' : `, ${length(u, answer.side_m)} to the side`}`
  const take = async (w: Way) => {
    if (await takeWay(w.set, `${line.name}: ${w.text}`)) {
      doc.selected.value = line.id
      view.value = 'spread'
    }
  }
  return (
    <>
      <h2>
        {answer.ways.length > 0
          ? `${answer.found} ${answer.found === 1 ? 'way' : 'ways'} to ${wanted}${answer.found > answer.ways.length ? `, the best ${answer.ways.length}` : ''}`
          : `${capital(line.name)} does not reach ${wanted}`}
      </h2>
      <ol class="ways">
        {answer.ways.map(w => (
          <OneWay key={w.text} way={w} u={u} name={line.name} onTake={() => void take(w)} />
        ))}
      </ol>
      {answer.limit && (
        <p>
          It comes as near as {deepWords(u, answer.limit.way?.lure, answer.limit.depth_m)}:{' '}
          {sentence(answer.limit.why)}
        </p>
      )}
      {!answer.finished && <p>The search was cut short: there may be better ways.</p>}
      {answer.changes && answer.changes.length > 0 && (
        <>
          <h3>Any one of these would do it</h3>
          <ul class="warnings">
            {answer.changes.map(c => (
              <li key={c.text}>
                {capital(c.text)}
                {c.way ? `; then ${c.way.text}` : ''}
                {c.buy ? ' (not aboard)' : ''}
              </li>
            ))}
          </ul>
        </>
      )}
    </>
  )
}

function OneWay(props: { way: Way; u: Units; name: string; onTake: () => void }) {
  const { way, u } = props
  const l = way.lure
  return (
    <li class="way">
      <p>
        <b>{capital(way.text)}</b>
      </p>
      <p>
        {deepWords(u, l)}, {sideWords(u, l.side_m)}, {length(u, l.astern_m)} astern
      </p>
      {(way.others ?? []).map(o => (
        <p key={o.rod + o.lure} class="plan-note">
          {capital(nameOf(o.rod))} moves with it, to {deepWords(u, o)}.
        </p>
      ))}
      {(way.warnings ?? []).map(w => (
        <p key={w.text} class="plan-note">
          Watch: {sentence(w.text)}
        </p>
      ))}
      {way.set.length > 0 ? (
        <Button kind="main" label={`Set it so: ${way.text}`} onClick={props.onTake}>
          Set it so
        </Button>
      ) : (
        <p class="plan-note">More than settings change: do it under Gear.</p>
      )}
    </li>
  )
}

/** A setting heard on the radio, on this boat's rods. */
function Heard(props: { u: Units }) {
  const said = useSignal('')
  const answer = useSignal<AimLike | null>(null)
  const trouble = useSignal('')
  const busy = useSignal(false)
  const find = async () => {
    if (!said.value.trim()) return
    busy.value = true
    trouble.value = ''
    answer.value = null
    try {
      answer.value = await askLong('like', {
        text: doc.text.value ?? '',
        units: props.u,
        said: said.value,
        intervals: true,
      })
    } catch (e) {
      trouble.value = e instanceof Error ? e.message : ''
    }
    busy.value = false
  }
  return (
    <details class="heard">
      <summary>Same as a setting heard from another boat</summary>
      <div class="field">
        <label class="control-label" for="heard">
          What was said <small>with units, as in: wire, large, dial 2, 180 ft</small>
        </label>
        <input
          id="heard"
          autocomplete="off"
          value={said.value}
          onInput={e => (said.value = e.currentTarget.value)}
          onKeyDown={e => {
            if (e.key === 'Enter') void find()
          }}
        />
      </div>
      <Button disabled={busy.value} onClick={() => void find()}>
        Find it on my rods
      </Button>
      <div aria-live="polite">
        {busy.value && <p>Looking for ways…</p>}
        {trouble.value && <p class="trouble-words">! {sentence(trouble.value)}</p>}
        {answer.value && (
          <>
            <p>
              Taken as: {answer.value.taken.join(', ')}. Not said, so taken: {answer.value.assumed.join('; ')}
              .
            </p>
            <p>
              On your boat its lure would run {deepWords(props.u, answer.value.lure)}.
              {!answer.value.finished && ' The search was cut short: there may be better ways.'}
            </p>
            <ul class="ways">
              {answer.value.rods.map(r => {
                const way = r.ways[0]
                return way ? (
                  <li key={r.rod} class="way">
                    <p>
                      <b>{capital(nameOf(r.rod))}:</b> {way.text}, to {deepWords(props.u, way.lure)}
                    </p>
                    {way.set.length > 0 && (
                      <Button
                        label={`Set it so: ${nameOf(r.rod)}, ${way.text}`}
                        onClick={() => void takeWay(way.set, `${nameOf(r.rod)}: ${way.text}`)}
                      >
                        Set it so
                      </Button>
                    )}
                  </li>
                ) : null
              })}
            </ul>
          </>
        )}
      </div>
    </details>
  )
}

/** The view from astern with the rod's paths; a touch says where the lure should run. */
function ReachPlan(props: {
  line: Line
  paths: Paths | null
  target: Target | null
  onTarget: (t: Target) => void
}) {
  const host = useRef<HTMLDivElement>(null)
  const size = useSignal({ width: 0, height: 0, em: 16 })
  const u = settings.value.units
  const lines = doc.lines.value
  useLayoutEffect(() => {
    const el = host.current
    if (!el) return
    const measure = () => {
      size.value = {
        width: el.clientWidth,
        height: el.clientHeight,
        em: Number.parseFloat(getComputedStyle(el).fontSize) || 16,
      }
    }
    const watch = new ResizeObserver(measure)
    watch.observe(el)
    measure()
    return () => watch.disconnect()
  }, [])
  const { width, height, em } = size.value
  const water = doc.solved.value?.water
  const frame = useMemo(() => {
    if (width < 50) return undefined
    const extent: Extent = extentOf(lines, [], water?.bottom_m)
    for (const p of props.paths?.paths ?? []) {
      for (const t of p.ticks) {
        if (t.status === 'not-converged' || t.status === 'refused') continue
        extent.depth.to = Math.max(extent.depth.to, 1.08 * t.depth_m)
        const half = Math.max(extent.side.to, 1.1 * Math.abs(t.side_m))
        extent.side = { from: -half, to: half }
      }
    }
    const deepest = water?.bottom_m
    if (deepest !== undefined) extent.depth.to = Math.min(extent.depth.to, 1.06 * deepest)
    return layOut(
      extent,
      { width, height, left: 2.4 * em, title: 0.6 * em, axis: 2.3 * em, gap: 0 },
      'astern',
    )
  }, [width, height, em, lines, props.paths, water])
  const box = frame?.boxes.astern
  const touch = (e: PointerEvent) => {
    const r = host.current?.getBoundingClientRect()
    if (!r || !frame || !box || e.buttons === 0) return
    const x = e.clientX - r.left - box.x
    const y = e.clientY - r.top - box.y
    if (x < 0 || y < 0 || x > box.w || y > box.h) return
    const unit = u === 'us' ? FOOT : 0.5
    const depth = Math.max(0, Math.round((y / frame.scale.depth + frame.extent.depth.from) / unit) * unit)
    const side = Math.round((x / frame.scale.side + frame.extent.side.from) / unit) * unit
    // With one path only there is no choice of side.
    props.onTarget({ depth, side: (props.paths?.paths.length ?? 0) > 1 ? side : null })
  }
  const plan = doc.plan.value
  const hull = (plan?.views.find(v => v.id === 'astern')?.shapes.find(s => s.class === 'hull')?.points ??
    []) as [number, number][]
  return (
    <div
      class="plan reach-plan"
      ref={host}
      onPointerDown={e => {
        host.current?.setPointerCapture(e.pointerId)
        touch(e)
      }}
      onPointerMove={touch}
    >
      {frame && box && (
        <svg
          width={width}
          height={height}
          role="img"
          aria-label={`From astern: where the ${props.line.name} can run. The same is said by numbers beside it.`}
        >
          <Axes frame={frame} view="astern" units={u} both />
          <svg x={box.x} y={box.y} width={box.w} height={box.h} class="view">
            <Ground
              frame={frame}
              view="astern"
              units={u}
              hull={hull}
              profile={(water?.temperature_c ?? []) as [number, number][]}
              bottom={water?.bottom_m}
            />
            {lines.filter(believed).map(l => (
              <LineShapes
                key={l.id}
                line={l}
                frame={frame}
                view="astern"
                lit={l.id === props.line.id}
                dim={l.id !== props.line.id}
              />
            ))}
            {props.paths && (
              <PathShapes paths={props.paths} frame={frame} side={props.line.side} u={u} em={em} />
            )}
            {props.target && <Cross target={props.target} frame={frame} w={box.w} />}
          </svg>
          <rect class="frame" x={box.x} y={box.y} width={box.w} height={box.h} />
        </svg>
      )}
    </div>
  )
}

function PathShapes(props: { paths: Paths; frame: Frame; side: string; u: Units; em: number }) {
  const { frame, u } = props
  const per = u === 'us' ? FOOT : 1
  return (
    <g class={`paths ${props.side}`} aria-hidden="true">
      {props.paths.paths.map(p => {
        const good = p.ticks.filter(
          t => t.status !== 'not-converged' && t.status !== 'refused' && t.status !== 'bottom',
        )
        const at = good.map(t => project(frame, 'astern', 0, t.side_m, t.depth_m))
        if (at.length === 0) return null
        const last = at.at(-1)!
        return (
          <g key={p.label}>
            <path class="path" d={`M${at.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join('L')}`} />
            {good.map((t, i) => {
              const [x, y] = at[i]!
              const count = Math.round(t.line_out_m / per)
              const told = i % 2 === 1
              return (
                <g key={t.line_out_m}>
                  <circle class="path-tick" cx={x} cy={y} r={told ? 3 : 2} />
                  {told && props.paths.paths.length < 7 && (
                    <text x={x + 5} y={y + 4}>
                      {count}
                    </text>
                  )}
                </g>
              )
            })}
            <text
              class="path-label"
              x={last[0]}
              y={Math.min(last[1] + 1.1 * props.em, frame.boxes.astern!.h - 4)}
              text-anchor="middle"
            >
              {p.label}
            </text>
          </g>
        )
      })}
    </g>
  )
}

function Cross(props: { target: Target; frame: Frame; w: number }) {
  const { target, frame } = props
  const [x, y] = project(frame, 'astern', 0, target.side ?? 0, target.depth)
  if (target.side === null) return <path class="cross" d={`M0 ${y}H${props.w}`} />
  return (
    <path
      class="cross"
      d={`M${x - 16} ${y}h32M${x} ${y - 16}v32M${x - 9} ${y}a9 9 0 1 0 18 0a9 9 0 1 0-18 0`}
    />
  )
}

/** All rods at once, kept apart: answers what was done and what stays, in words. */
export async function moveAll(order: string): Promise<void> {
  await doc.commit()
  const text = doc.text.value
  if (text === null) return
  try {
    const got = await askLong('order', { text, units: settings.value.units, order })
    const stay = got.rods.filter(r => !r.way)
    const name = (r: { rod: string; position?: string }) =>
      doc.lines.value.find(l => l.id === r.rod)?.name ?? r.position ?? r.rod
    if (got.set.length > 0) await takeWay(got.set, `all ${order}`)
    const words = [
      `All ${order}: ${got.rods.length - stay.length} set`,
      ...stay.map(r => `${name(r)} stays, ${r.stays ?? 'no way was found'}`),
      ...got.rods.filter(r => r.way && r.short).map(r => `${name(r)} not all the way, ${r.short}`),
    ]
    doc.notice.value = words.join('; ')
    doc.said.value = doc.notice.value
  } catch (e) {
    if (!(e instanceof Canceled)) doc.trouble.value = e instanceof Error ? sentence(e.message) : ''
  }
}
