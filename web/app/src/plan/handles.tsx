// The lures of the side view as sliders, for keys and for a screen reader.
import { memo } from 'preact/compat'
import { useMemo } from 'preact/hooks'
import type { Knob } from '../engine/reach'
import * as doc from '../model/doc'
import { depthKnob } from '../model/form'
import { believed, type Line } from '../model/tracks'
import { placeWords, plain, type Units } from '../words'
import { type Frame, project } from './frame'

/** One slider a lure, for keys and for a screen reader, drawn only while it has the focus. */
export function Handles(props: { lines: Line[]; frame: Frame; units: Units }) {
  const { frame, units } = props
  const box = frame.boxes.side!
  const form = doc.form.value
  const knobs = useMemo(
    () => new Map(props.lines.map(l => [l.id, l.device ? undefined : depthKnob(form, l.state.rod, units)])),
    [form, units, props.lines.map(l => l.id).join()],
  )
  return (
    <g transform={`translate(${box.x} ${box.y})`}>
      {props.lines.map(l => {
        const knob = knobs.get(l.id)
        if (!knob) return null
        const tried = Number.parseFloat(doc.trial.value.get(knob.path) ?? '')
        const value = Number.isFinite(tried) ? tried : knob.value
        return <Handle key={l.id} line={l} knob={knob} value={value} frame={frame} units={units} />
      })}
    </g>
  )
}

const Handle = memo(function Handle(props: {
  line: Line
  knob: Knob
  value: number
  frame: Frame
  units: Units
}) {
  const { line: l, knob, value, frame, units } = props
  // A line that could not be worked out keeps its handle: the way back is by the same keys.
  const lure = believed(l) ? l.state.lures[0] : undefined
  const [x, y] = lure ? project(frame, 'side', -lure.astern_m, lure.side_m, lure.depth_m) : [24, 24]
  const key = (e: KeyboardEvent) => {
    const by = { ArrowDown: 1, ArrowUp: -1, PageDown: 10, PageUp: -10 }[e.key]
    if (!by) return
    e.preventDefault()
    e.stopPropagation()
    const next = Math.min(knob.max, Math.max(knob.min, value + by * knob.step))
    const words = knob.unit ? `${next.toFixed(knob.step < 1 ? 1 : 0)} ${knob.unit}` : String(next)
    doc.nudge(knob.path, words, `${l.name}: ${plain(knob.path.split('.').at(-1) ?? '')} ${words}`)
  }
  return (
    <g
      class="handle"
      role="slider"
      tabIndex={0}
      aria-orientation="vertical"
      aria-label={`${l.name}, ${plain(knob.path.split('.').at(-1) ?? '')}`}
      aria-valuemin={knob.min}
      aria-valuemax={knob.max}
      aria-valuenow={Math.round(value * 10) / 10}
      aria-valuetext={`${lengthNumberOf(knob, value)}: ${lure ? placeWords(units, lure) : 'not worked out'}`}
      onKeyDown={key}
      onFocus={() => {
        doc.selected.value = l.id
      }}
      transform={`translate(${x} ${y})`}
    >
      <circle r="24" />
    </g>
  )
})

function lengthNumberOf(knob: { unit: string; step: number }, value: number): string {
  return knob.unit ? `${value.toFixed(knob.step < 1 ? 1 : 0)} ${knob.unit}` : `${value} colors`
}
