// The boat from above, to scale: rod tips and booms where they are, to be moved by finger,
// by keys or by numbers.
import { useSignal } from '@preact/signals'
import { useRef } from 'preact/hooks'
import type { FormValue } from '../api'
import * as doc from '../model/doc'
import { type FormMap, isMap, listAt, textAt } from '../model/form'
import { settings } from '../model/settings'
import { signPath } from '../plan/signs'
import { Button, Choice, Select, Stepper } from '../ui/controls'
import { Field } from '../ui/field'
import {
  capital,
  FOOT,
  length,
  lengthUnit,
  plain,
  readLength,
  sideWord,
  sideWords,
  type Units,
} from '../words'

interface Point {
  forward: number // m
  side: number // m to starboard
  up: number // m
}

interface Spot {
  path: string // of the point in the file
  name: string
  sign: 'lure' | 'ball'
  raw: FormMap
  at: Point
}

function pointOf(p: FormValue | undefined): Point {
  const m = (k: string) => readLength(textAt(p, k) ?? '') ?? 0
  return { forward: m('forward') - m('aft'), side: m('starboard') - m('port'), up: m('up') - m('down') }
}

// The side of a tip, as the engine tells it: within 0.05 m of the center line it is on neither.
const sideOf = (y: number) => sideWord(Math.abs(y) > 0.05 ? y : 0)
const stepOf = (u: Units) => (u === 'us' ? 0.5 * FOOT : 0.1)

/** A length of the boat as it is written: halves of a foot, tenths of a meter. */
function written(u: Units, m: number): string {
  return u === 'us' ? `${Number((Math.round(m / FOOT / 0.5) * 0.5).toFixed(1))} ft` : `${m.toFixed(1)} m`
}

/** The point in the file's words, what did not move left as it was written. */
function pointText(u: Units, spot: Spot, to: Point): FormMap {
  const out: FormMap = {}
  const put = (now: number, was: number, plus: string, minus: string) => {
    if (Math.abs(now - was) < 1e-6) {
      for (const k of [plus, minus]) if (spot.raw[k] !== undefined) out[k] = spot.raw[k] ?? null
    } else if (Math.abs(now) > 1e-6) out[now > 0 ? plus : minus] = written(u, Math.abs(now))
  }
  put(to.forward, spot.at.forward, 'forward', 'aft')
  put(to.side, spot.at.side, 'starboard', 'port')
  put(to.up, spot.at.up, 'up', 'down')
  return out
}

function spotsOf(form: FormValue): Spot[] {
  const spots: Spot[] = []
  const take = (list: string, key: string, sign: Spot['sign'], name: (x: FormMap) => string) => {
    for (const x of listAt(form, list)) {
      const raw = isMap(x[key]) ? x[key] : {}
      spots.push({ path: `${list}.${String(x.id)}.${key}`, name: name(x), sign, raw, at: pointOf(raw) })
    }
  }
  take('boat.holders', 'tip', 'lure', h => textAt(h, 'position') ?? plain(String(h.id)))
  take('boat.booms', 'end', 'ball', b => `end of ${plain(String(b.id))}`)
  take('boat.masts', 'top', 'ball', b => `top of ${plain(String(b.id))}`)
  return spots
}

function move(spot: Spot, to: Point) {
  const u = settings.value.units
  void doc.put(spot.path, pointText(u, spot, to), `moved ${spot.name}`, spot.path)
}

export function Boat() {
  const form = doc.form.value
  const u = settings.value.units
  const chosen = useSignal<string | null>(null)
  const spots = spotsOf(form)
  const spot = spots.find(s => s.path === chosen.value) ?? spots[0]
  const f = (label: string, key: string, hint = '') => (
    <Field label={label} path={`boat.${key}`} value={textAt(form, `boat.${key}`)} hint={hint} what="boat" />
  )
  return (
    <section class="gear-boat" aria-labelledby="gear-boat">
      <h2 id="gear-boat">Boat</h2>
      <div class="fields">
        {f('Name', 'name')}
        {f('Length', 'length', u === 'us' ? '20 ft' : '6 m')}
        {f('Beam', 'beam', u === 'us' ? '8 ft' : '2.4 m')}
      </div>
      <FromAbove spots={spots} chosen={spot?.path} onChoose={path => (chosen.value = path)} />
      {spot && <SpotSettings spot={spot} spots={spots} onChoose={path => (chosen.value = path)} />}
    </section>
  )
}

/** One tip or boom by its numbers. */
function SpotSettings(props: { spot: Spot; spots: Spot[]; onChoose: (path: string) => void }) {
  const { spot, spots } = props
  const u = settings.value.units
  const form = doc.form.value
  const per = u === 'us' ? FOOT : 1
  const number = (m: number) => Number((m / per).toFixed(2))
  const holder = /^boat\.holders\.([^.]+)\.tip$/.exec(spot.path)?.[1]
  const used = holder !== undefined && listAt(form, 'rods').some(r => r.holder === holder)
  const stepper = (label: string, hint: string, key: keyof Point, value: number, least: number) => (
    <Stepper
      label={label}
      hint={hint}
      value={number(value)}
      unit={lengthUnit(u)}
      digits={1}
      min={least}
      max={u === 'us' ? 100 : 30}
      step={u === 'us' ? 0.5 : 0.1}
      onValue={v => {
        const m = v * per
        move(spot, { ...spot.at, [key]: key === 'side' && spot.at.side < 0 ? -m : m })
      }}
    />
  )
  return (
    <fieldset class="item spot">
      <legend>{capital(spot.name)}</legend>
      <Select
        label="Move"
        value={spot.path}
        options={spots.map(s => ({
          value: s.path,
          text: s.name,
          group: s.sign === 'lure' ? 'rod tips' : 'booms and masts',
        }))}
        onValue={props.onChoose}
      />
      {stepper('Forward of the transom', 'minus is aft', 'forward', spot.at.forward, u === 'us' ? -100 : -30)}
      {stepper('Out from the center line', '', 'side', Math.abs(spot.at.side), 0)}
      <Choice
        label="Side"
        value={spot.at.side < 0 ? 'port' : 'starboard'}
        options={[
          { value: 'port', text: 'port' },
          { value: 'starboard', text: 'starboard' },
        ]}
        onValue={v =>
          move(spot, { ...spot.at, side: v === 'port' ? -Math.abs(spot.at.side) : Math.abs(spot.at.side) })
        }
      />
      {stepper('Above the water', '', 'up', spot.at.up, u === 'us' ? -10 : -3)}
      {holder !== undefined && (
        <div class="fields">
          <Field
            label="Called"
            path={`boat.holders.${holder}.position`}
            value={textAt(form, `boat.holders.${holder}.position`)}
            what={plain(holder)}
          />
          <Button
            disabled={used || spots.length < 2}
            onClick={() => void doc.remove(`boat.holders.${holder}`, `took the holder ${plain(holder)} out`)}
          >
            Take this holder out
          </Button>
          {used && <p class="plan-note">A rod stands in it: take the rod out or move it first.</p>}
        </div>
      )}
    </fieldset>
  )
}

/** The bow points left, as in the lines plan. */
function FromAbove(props: { spots: Spot[]; chosen: string | undefined; onChoose: (path: string) => void }) {
  const { spots } = props
  const u = settings.value.units
  const svg = useRef<SVGSVGElement>(null)
  const drag = useSignal<{ path: string; at: Point } | null>(null)
  const hull =
    doc.plan.value?.views.find(v => v.id === 'above')?.shapes.find(s => s.class === 'hull')?.points ?? []
  const all: [number, number][] = [
    ...hull.map(([a, b]) => [-a, b] as [number, number]),
    ...spots.map(s => [s.at.forward, s.at.side] as [number, number]),
  ]
  if (spots.length === 0) return null
  const xs = all.map(p => -p[0])
  const ys = all.map(p => -p[1])
  const room = 1.2
  const x0 = Math.min(...xs) - room
  const y0 = Math.min(...ys) - room
  const w = Math.max(...xs) - x0 + room
  const h = Math.max(...ys) - y0 + room
  const bar = u === 'us' ? 5 * FOOT : 2
  const step = stepOf(u)
  const place = (e: PointerEvent): [number, number] | undefined => {
    const m = svg.current?.getScreenCTM()?.inverse()
    if (!m) return undefined
    const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(m)
    return [p.x, p.y]
  }
  const snapped = (v: number) => Math.round(v / step) * step
  const along = (e: PointerEvent, spot: Spot) => {
    const p = place(e)
    if (!p || drag.value?.path !== spot.path) return
    drag.value = {
      path: spot.path,
      at: { ...spot.at, forward: snapped(-p[0]), side: snapped(-p[1]) },
    }
  }
  const drop = (spot: Spot) => {
    const to = drag.value?.at
    drag.value = null
    if (to && (to.forward !== spot.at.forward || to.side !== spot.at.side)) move(spot, to)
  }
  const key = (e: KeyboardEvent, spot: Spot) => {
    const by = {
      ArrowLeft: [1, 0],
      ArrowRight: [-1, 0],
      ArrowUp: [0, 1],
      ArrowDown: [0, -1],
    }[e.key]
    if (!by) return
    e.preventDefault()
    move(spot, {
      ...spot.at,
      forward: spot.at.forward + (by[0] ?? 0) * step,
      side: spot.at.side + (by[1] ?? 0) * step,
    })
  }
  const words = (p: Point) =>
    `${length(u, Math.abs(p.forward))} ${p.forward < 0 ? 'aft' : 'forward'} of the transom, ${sideWords(u, p.side)}`
  // The chosen one lies on top, where a finger gets hold of it.
  const ordered = [...spots].sort((a, b) => Number(a.path === props.chosen) - Number(b.path === props.chosen))
  return (
    <figure class="boat-figure">
      <svg
        ref={svg}
        viewBox={`${x0} ${y0} ${w} ${h}`}
        role="group"
        aria-label={`The boat from above, to scale, with ${spots.filter(s => s.sign === 'lure').length} rod tips and ${spots.filter(s => s.sign === 'ball').length} booms and masts`}
      >
        {hull.length > 2 && (
          <path class="boat-hull" d={`M${hull.map(([a, b]) => `${a} ${-b}`).join('L')}Z`} />
        )}
        <path class="boat-center" d={`M${x0} 0H${x0 + w}`} />
        <path class="boat-scale" d={`M${x0 + w - bar - 0.2} ${y0 + h - 0.2}h${bar}`} />
        {ordered.map(s => {
          const at = drag.value?.path === s.path ? drag.value.at : s.at
          const lit = s.path === props.chosen
          return (
            <g
              key={s.path}
              class={`spot-mark rod ${sideOf(at.side)}${lit ? ' lit' : ''}`}
              role="button"
              tabIndex={0}
              aria-pressed={lit}
              aria-label={`${s.name}: ${words(at)}. Arrow keys move it`}
              transform={`translate(${-at.forward} ${-at.side})`}
              onFocus={() => props.onChoose(s.path)}
              onKeyDown={e => key(e, s)}
              // A part of a drawing cannot say touch-action: its touches must not scroll the page.
              onTouchStart={e => e.preventDefault()}
              onPointerDown={e => {
                if (e.button !== 0) return
                props.onChoose(s.path)
                drag.value = { path: s.path, at: s.at }
                e.currentTarget.setPointerCapture(e.pointerId)
              }}
              onPointerMove={e => along(e, s)}
              onPointerUp={() => drop(s)}
              onPointerCancel={() => {
                drag.value = null
              }}
            >
              <circle class="spot-hold" r="0.7" />
              <g transform={s.sign === 'lure' ? 'scale(.035)' : 'scale(.03)'}>
                <path class={s.sign === 'lure' ? 'mark' : 'body'} d={signPath(s.sign, sideOf(at.side))} />
              </g>
            </g>
          )
        })}
      </svg>
      <figcaption class="plan-note">
        From above, bow to the left; port is down (squares), starboard is up (triangles), rings are booms. The
        bar is {length(u, bar)}. Drag one to where it is on your boat, or set it below.
      </figcaption>
    </figure>
  )
}
