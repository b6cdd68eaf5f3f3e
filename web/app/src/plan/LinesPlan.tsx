// The lines plan, live: the spread from above, from the side and from astern, in fixed
// places, sharing scales, lit together.
import { useSignal } from '@preact/signals'
import { memo } from 'preact/compat'
import { useLayoutEffect, useMemo, useRef } from 'preact/hooks'
import * as doc from '../model/doc'
import { depthKnob } from '../model/form'
import { settings } from '../model/settings'
import { believed, type Line } from '../model/tracks'
import { lengthUnit, plain, type Units } from '../words'
import { Corner } from './corner'
import {
  type Extent,
  extentOf,
  type Frame,
  layOut,
  project,
  type Sheet,
  steady,
  ticks,
  type ViewID,
} from './frame'
import { Handles } from './handles'
import { isotherms } from './isotherms'
import { pick } from './pick'
import { Labels, WaterWords } from './planwords'
import { signOf, signPath } from './signs'

const noProfile: [number, number][] = []
const titles: Record<ViewID, string> = { side: 'from the side', above: 'from above', astern: 'from astern' }
export const viewIDs: readonly ViewID[] = ['above', 'side', 'astern']

function pathOf(f: Frame, view: ViewID, points: ArrayLike<number>): string {
  let d = ''
  for (let i = 0; i + 2 < points.length; i += 3) {
    const [u, v] = project(f, view, points[i]!, points[i + 1]!, points[i + 2]!)
    d += `${i ? 'L' : 'M'}${u.toFixed(1)} ${v.toFixed(1)}`
  }
  return d
}

export const LineShapes = memo(function LineShapes(props: {
  line: Line
  frame: Frame
  view: ViewID
  lit: boolean
  dim: boolean
}) {
  const { line, frame, view } = props
  if (!believed(line)) return null
  const { state, side } = line
  const thin = /leader|snubber|attractor|slider/
  const first = line.curves[0]?.points
  const tip = first && first.length >= 3 ? project(frame, view, first[0]!, first[1]!, first[2]!) : undefined
  return (
    <g
      class={`rod ${side}${props.lit ? ' lit' : ''}${props.dim ? ' dim' : ''}${line.pending ? ' pending' : ''}`}
      data-rod={line.id}
    >
      {line.curves.map(c => (
        <path
          key={c.id}
          class={line.device ? 'cable' : thin.test(c.kind) ? 'leader' : 'line'}
          d={pathOf(frame, view, c.points)}
        />
      ))}
      {tip && <path class="mark" d={signPath('tip', side)} transform={`translate(${tip[0]} ${tip[1]})`} />}
      {view !== 'above' &&
        state.lures.map(l => {
          const [u, top] = project(frame, view, -l.astern_m, l.side_m, Math.max(0, l.depth_lo_m))
          const [, end] = project(frame, view, -l.astern_m, l.side_m, Math.max(0, l.depth_hi_m))
          if (!(end - top > 0.5)) return null
          return (
            <path key={l.id} class="interval" d={`M${u - 4} ${top}h8M${u} ${top}V${end}M${u - 4} ${end}h8`} />
          )
        })}
      {state.bodies.map(b => {
        const [u, v] = project(frame, view, -b.astern_m, b.side_m, b.depth_m)
        return (
          <path
            key={b.id}
            class="body"
            d={signPath(signOf(b.kind), side)}
            transform={`translate(${u} ${v})`}
          />
        )
      })}
      {state.lures.map(l => {
        const [u, v] = project(frame, view, -l.astern_m, l.side_m, l.depth_m)
        return (
          <g key={l.id} transform={`translate(${u} ${v})`}>
            {props.lit && <circle class="halo" r="11" />}
            {state.status !== 'ok' && <circle class="trouble" r="9" />}
            <path class="mark" d={signPath('lure', side)} />
          </g>
        )
      })}
    </g>
  )
})

/** What lies behind the lines: water, isotherms, bottom, surface, boat, grid. */
export const Ground = memo(function Ground(props: {
  frame: Frame
  view: ViewID
  units: Units
  hull: [number, number][]
  profile: [number, number][]
  bottom: number | undefined
}) {
  const { frame, view, units } = props
  const box = frame.boxes[view]!
  const e = frame.extent
  const down = view === 'above' ? undefined : (z: number) => project(frame, view, 0, 0, z)[1]
  const us =
    view === 'astern'
      ? ticks(e.side, frame.scale.side, units, 44)
      : ticks(e.astern, frame.scale.astern, units, 44)
  const vs =
    view === 'above'
      ? ticks(e.side, frame.scale.side, units, 26)
      : ticks(e.depth, frame.scale.depth, units, 26)
  const x = (at: number) =>
    view === 'astern' ? project(frame, view, 0, at, 0)[0] : project(frame, view, -at, 0, 0)[0]
  const y = (at: number) =>
    view === 'above' ? project(frame, view, 0, at, 0)[1] : project(frame, view, 0, 0, at)[1]
  const surface = down?.(0) ?? 0
  const bottomY = down && props.bottom !== undefined ? down(props.bottom) : undefined
  return (
    <g aria-hidden="true">
      <rect class="water" x="0" y={surface} width={box.w} height={box.h - surface} />
      {us.map(t => (
        <path key={`u${t.at}`} class="grid" d={`M${x(t.at)} ${surface}V${box.h}`} />
      ))}
      {vs.map(t => (
        <path key={`v${t.at}`} class="grid" d={`M0 ${y(t.at)}H${box.w}`} />
      ))}
      {down &&
        isotherms(props.profile, units).map(t => (
          <g key={t.depth}>
            <path class="isotherm" d={`M0 ${down(t.depth)}H${box.w}`} />
          </g>
        ))}
      {bottomY !== undefined && bottomY < box.h && (
        <g>
          <rect class="bottom" x="0" y={bottomY} width={box.w} height={box.h - bottomY} />
          <path class="bottom-edge" d={`M0 ${bottomY}H${box.w}`} />
        </g>
      )}
      {down && <path class="surface" d={`M0 ${surface}H${box.w}`} />}
      {props.hull.length > 2 && (
        <path
          class="hull"
          d={`M${props.hull.map(([a, b]) => `${x(a).toFixed(1)} ${y(b).toFixed(1)}`).join('L')}Z`}
        />
      )}
    </g>
  )
})

export const Axes = memo(function Axes(props: { frame: Frame; view: ViewID; units: Units; both: boolean }) {
  const { frame, view, units, both } = props
  const box = frame.boxes[view]!
  const e = frame.extent
  const unit = lengthUnit(units)
  const showU = both || view !== 'above'
  const showV = both || view !== 'astern'
  const us =
    view === 'astern'
      ? ticks(e.side, frame.scale.side, units, 44)
      : ticks(e.astern, frame.scale.astern, units, 44)
  const vs =
    view === 'above'
      ? ticks(e.side, frame.scale.side, units, 26)
      : ticks(e.depth, frame.scale.depth, units, 26)
  const sideText = (text: string) =>
    text.startsWith('-') ? `${text.slice(1)} P` : text === '0' ? '0' : `${text} S`
  return (
    <g aria-hidden="true" class="axes" transform={`translate(${box.x} ${box.y})`}>
      {showU &&
        us.map(t => {
          const at =
            view === 'astern' ? project(frame, view, 0, t.at, 0)[0] : project(frame, view, -t.at, 0, 0)[0]
          const cut = view === 'astern' && (at < 22 || at > box.w - 22) && t.at !== 0
          if (cut || (view !== 'astern' && t.at < 0)) return null
          return (
            <text key={t.at} x={at} y={box.h + 14} text-anchor="middle">
              {view === 'astern' ? sideText(t.text) : t.text}
            </text>
          )
        })}
      {showU && (
        <text x={box.w} y={box.h + 28} text-anchor="end">
          {view === 'astern' ? `to the side, ${unit}` : `astern, ${unit}`}
        </text>
      )}
      {showV &&
        vs.map(t => {
          const at =
            view === 'above' ? project(frame, view, 0, t.at, 0)[1] : project(frame, view, 0, 0, t.at)[1]
          if (view !== 'above' && t.at < 0) return null
          return (
            <text key={t.at} x="-5" y={at + 4} text-anchor="end">
              {view === 'above' ? sideText(t.text).replace(' ', '') : t.text}
            </text>
          )
        })}
      {showV && view !== 'above' && (
        <text x="-5" y="10" text-anchor="end">
          {unit}
        </text>
      )}
    </g>
  )
})

/** The bar of names over the drawing: which views, and the way back. */
export function LinesPlan(props: { only: ViewID | undefined; onOnly: (v: ViewID | undefined) => void }) {
  const host = useRef<HTMLDivElement>(null)
  const size = useSignal({ width: 0, height: 0, em: 16 })
  const extent = useRef<Extent | undefined>(undefined)
  const drag = useRef<
    | {
        drag: doc.Drag | undefined
        view: ViewID
        startY: number
        startDepth: number
        line: Line
        lure: string
      }
    | undefined
  >(undefined)

  useLayoutEffect(() => {
    const el = host.current
    if (!el) return
    const measure = () => {
      const em = Number.parseFloat(getComputedStyle(el).fontSize) || 16
      size.value = { width: el.clientWidth, height: el.clientHeight, em }
    }
    const watch = new ResizeObserver(measure)
    watch.observe(el)
    measure()
    return () => watch.disconnect()
  }, [])

  const lines = doc.lines.value
  const units = settings.value.units
  const solved = doc.solved.value
  const plan = doc.plan.value
  const lit = doc.selected.value
  const { width, height, em } = size.value
  const hulls = useMemo(() => {
    const of = (id: string) =>
      (plan?.views.find(v => v.id === id)?.shapes.find(s => s.class === 'hull')?.points ?? []) as [
        number,
        number,
      ][]
    return { side: of('side'), above: of('above'), astern: of('astern') }
  }, [plan])
  const bottom = solved?.water?.bottom_m
  const profile = solved?.water?.temperature_c ?? noProfile
  if (!doc.holding.value) extent.current = steady(extent.current, extentOf(lines, hulls.above, bottom))
  const held = extent.current ?? extentOf(lines, hulls.above, bottom)
  const frame = useMemo(() => {
    const sheet: Sheet = { width, height, left: 2.3 * em, title: 2.1 * em, axis: 2.2 * em, gap: 0.7 * em }
    return width > 0 ? layOut(held, sheet, props.only) : undefined
  }, [held, width, height, em, props.only])

  const viewAt = (e: PointerEvent): { view: ViewID; x: number; y: number } | undefined => {
    const r = host.current?.getBoundingClientRect()
    if (!r || !frame) return undefined
    const px = e.clientX - r.left
    const py = e.clientY - r.top
    for (const id of viewIDs) {
      const b = frame.boxes[id]
      if (b && px >= b.x && px <= b.x + b.w && py >= b.y && py <= b.y + b.h)
        return { view: id, x: px - b.x, y: py - b.y }
    }
    return undefined
  }

  const down = (e: PointerEvent) => {
    if (!frame || e.button !== 0) return
    const where = viewAt(e)
    if (!where) return
    const found = pick(lines, frame, where.view, where.x, where.y, lit)
    if (!found) {
      doc.selected.value = null
      return
    }
    doc.selected.value = found.line.id
    if (!found.lure || where.view === 'above' || found.line.device) return
    const lure = found.line.state.lures.find(l => l.id === found.lure)
    if (!lure) return
    drag.current = {
      drag: undefined,
      view: where.view,
      startY: e.clientY,
      startDepth: lure.depth_m,
      line: found.line,
      lure: lure.id,
    }
    host.current?.setPointerCapture(e.pointerId)
    e.preventDefault()
  }

  const move = (e: PointerEvent) => {
    const d = drag.current
    if (!d || !frame) return
    const by = e.clientY - d.startY
    if (!d.drag) {
      if (Math.abs(by) < 4) return
      const knob = depthKnob(doc.form.value, d.line.state.rod, units)
      if (!knob) {
        doc.trouble.value = `${d.line.name}: nothing in its settings takes it up or down here.`
        drag.current = undefined
        return
      }
      d.drag = new doc.Drag(
        d.line,
        d.lure,
        knob,
        value => `${d.line.name}: ${plain(knob.path.split('.').at(-1) ?? '').replace('_', ' ')} ${value}`,
      )
    }
    d.drag.to(Math.max(0, d.startDepth + by / frame.scale.depth))
  }

  const up = () => {
    drag.current?.drag?.end()
    drag.current = undefined
  }
  // A view left with a finger still on it lets go of the lure, too.
  useLayoutEffect(() => up, [])

  const ringed = doc.ringed.value
  return (
    <div
      class="plan"
      ref={host}
      onPointerDown={down}
      onPointerMove={move}
      onPointerUp={up}
      onPointerCancel={up}
    >
      {frame && (
        <svg width={width} height={height} role="group" aria-label={plan?.alt ?? 'The lines plan'}>
          <title>Lines plan</title>
          <defs>
            <pattern id="bottom-hatch" width="10" height="10" patternUnits="userSpaceOnUse">
              <path class="hatch" d="M0 10L10 0" />
            </pattern>
          </defs>
          {viewIDs.map(id => {
            const box = frame.boxes[id]
            if (!box) return null
            return (
              <g key={id}>
                <Axes frame={frame} view={id} units={units} both={props.only !== undefined} />
                <svg x={box.x} y={box.y} width={box.w} height={box.h} class={`view ${id}`} data-view={id}>
                  <title>{titles[id]}</title>
                  <Ground
                    frame={frame}
                    view={id}
                    units={units}
                    hull={hulls[id]}
                    profile={profile as [number, number][]}
                    bottom={bottom}
                  />
                  {id !== 'above' && (
                    <WaterWords
                      frame={frame}
                      view={id}
                      units={units}
                      profile={profile as [number, number][]}
                      bottom={bottom}
                      em={em}
                    />
                  )}
                  {lines.map(l => (
                    <LineShapes
                      key={l.id}
                      line={l}
                      frame={frame}
                      view={id}
                      lit={l.id === lit}
                      dim={lit !== null && l.id !== lit}
                    />
                  ))}
                  {ringed?.places && <TroubleMark frame={frame} view={id} places={ringed.places} />}
                  <Labels
                    lines={lines}
                    frame={frame}
                    view={id}
                    units={units}
                    em={em}
                    lit={lit}
                    full={id === 'side' && box.w > 420}
                  />
                </svg>
                <rect class="frame" x={box.x} y={box.y} width={box.w} height={box.h} />
              </g>
            )
          })}
          {frame.boxes.side && <Handles lines={lines} frame={frame} units={units} />}
        </svg>
      )}
      {frame &&
        viewIDs.map(id => {
          const box = frame.boxes[id]
          if (!box) return null
          return (
            <ViewTitle
              key={id}
              id={id}
              x={box.x}
              y={box.y - 2.1 * em}
              w={box.w}
              open={props.only === id}
              onOnly={props.onOnly}
            />
          )
        })}
      {frame?.corner && <Corner box={frame.corner} units={units} />}
    </div>
  )
}

function ViewTitle(props: {
  id: ViewID
  x: number
  y: number
  w: number
  open: boolean
  onOnly: (v: ViewID | undefined) => void
}) {
  const ref = useRef<HTMLButtonElement>(null)
  useLayoutEffect(() => {
    const s = ref.current?.style
    s?.setProperty('left', `${props.x}px`)
    s?.setProperty('top', `${props.y - 6}px`)
  }, [props.x, props.y])
  return (
    <button
      ref={ref}
      type="button"
      class="view-title"
      aria-pressed={props.open}
      onClick={() => props.onOnly(props.open ? undefined : props.id)}
    >
      {titles[props.id]} <span aria-hidden="true">{props.open ? '↙' : '↗'}</span>
      <span class="hidden">{props.open ? ', show all three views' : ', show large'}</span>
    </button>
  )
}

function TroubleMark(props: {
  frame: Frame
  view: ViewID
  places: [[number, number, number], [number, number, number]]
}) {
  const { frame, view, places } = props
  const [x0, y0] = project(frame, view, ...places[0])
  const [x1, y1] = project(frame, view, ...places[1])
  const x = (x0 + x1) / 2
  const y = (y0 + y1) / 2
  const r = Math.max(12, Math.hypot(x1 - x0, y1 - y0) / 2 + 6)
  return (
    <g class="near" aria-hidden="true">
      <circle cx={x} cy={y} r={r} />
    </g>
  )
}
