// Where does it all run: the lines plan, the rods, and the settings of the one in hand.
import { computed, useSignal } from '@preact/signals'
import { memo } from 'preact/compat'
import type { Finding, Warning } from '../api'
import { rooms } from '../log/door'
import * as doc from '../model/doc'
import {
  depthKnob,
  deviceKnobs,
  isOn,
  partsBehind,
  rigGear,
  type SettingKnob,
  settingKnobs,
  settingRow,
  textAt,
} from '../model/form'
import { settings } from '../model/settings'
import { believed, type Line } from '../model/tracks'
import type { ViewID } from '../plan/frame'
import { LinesPlan, viewIDs } from '../plan/LinesPlan'
import { SolidView } from '../solid/SolidView'
import { Button, Choice, Select, Stepper, Toggle } from '../ui/controls'
import {
  capital,
  force,
  length,
  lengthNumber,
  lengthUnit,
  MPH,
  plain,
  readSpeed,
  sentence,
  span,
  speed,
  type Units,
} from '../words'
import { moveAll } from './aim'
import { Current } from './current'

export function Spread() {
  const only = useSignal<ViewID | undefined>(undefined)
  const solid = useSignal(false)
  const showAll = only.value === undefined
  return (
    <div class="spread">
      <h1 class="hidden">Spread</h1>
      <section class="plan-side" aria-label="Lines plan">
        <Headline />
        {solid.value ? (
          <SolidView onBack={() => (solid.value = false)} />
        ) : (
          <>
            <LinesPlan only={only.value} onOnly={v => (only.value = v)} />
            {!showAll && (
              <fieldset class="view-switch">
                <legend class="hidden">Which view is shown large</legend>
                {viewIDs.map(v => (
                  <Button
                    key={v}
                    pressed={only.value === v}
                    onClick={() => (only.value = only.value === v ? undefined : v)}
                  >
                    {v}
                  </Button>
                ))}
                <Button onClick={() => (only.value = undefined)}>all three</Button>
              </fieldset>
            )}
            <Findings />
            <div class="plan-more">
              <Button onClick={() => (solid.value = true)}>See it in 3-D</Button>
            </div>
          </>
        )}
      </section>
      <Tray />
      <section class="hand-side" aria-label="Settings">
        <LogPad />
        <RodSettings />
        <Whole />
        <Current />
        <RodList />
        <Cautions />
      </section>
    </div>
  )
}

/** The trip's rods to touch, where a log is in use. */
function LogPad() {
  const Pad = rooms.value?.Pad
  return Pad ? <Pad /> : null
}

function Headline() {
  const solved = doc.solved.value
  const trouble = doc.trouble.value
  return (
    <div class="headline" role="status">
      {trouble ? (
        <p class="trouble-words">
          <b>! </b>
          {trouble}
        </p>
      ) : (
        <p>{solved ? solved.headline : doc.working.value ? 'Working it out…' : ''}</p>
      )}
    </div>
  )
}

/** What the headline has not said: the other findings, and what holds of every picture. */
function Findings() {
  const grave = doc.findings.value.filter(f => f.grade !== 'worth-knowing').slice(1)
  const remarks = doc.findings.value.filter(f => f.grade === 'worth-knowing')
  const list = (all: readonly Finding[]) => (
    <ul>
      {all.map(f => (
        <li key={f.text}>
          {f.text}.{f.do ? ` ${f.do.charAt(0).toUpperCase()}${f.do.slice(1)}.` : ''}
        </li>
      ))}
    </ul>
  )
  return (
    <div class="plan-note">
      {grave.length > 0 && list(grave)}
      {remarks.length > 0 && (
        <details>
          <summary>Worth knowing: {remarks.length}</summary>
          {list(remarks)}
        </details>
      )}
      <p>
        {doc.ringed.value && 'The trouble said above is ringed. '}
        Depths are worked out, not measured; bars hold them 4 times in 5.{' '}
        {doc.isDemo.value && <b>Demo data, invented. </b>}
        Not for navigation.
      </p>
    </div>
  )
}

/** What a trial or the file has at a path. */
function value(path: string): string | undefined {
  return doc.trial.value.get(path) ?? textAt(doc.form.value, path)
}

function RodSettings() {
  const line = doc.selectedLine.value
  const u = settings.value.units
  if (!line) {
    return (
      <div class="rod-settings empty">
        <p>Tap a line or a rod to set it. Drag a lure up or down and its line out follows.</p>
      </div>
    )
  }
  const form = doc.form.value
  const id = line.state.rod
  if (line.device) {
    return (
      <div class={`rod-settings ${line.side}`}>
        <RodHead line={line} />
        {deviceKnobs(form, id, u).map(k => (
          <NumberSetting key={k.path} line={line} knob={k} hint={k.hint} />
        ))}
      </div>
    )
  }
  const knobs = settingKnobs(form, id, u)
  const depth = depthKnob(form, id, u)
  const first = knobs.filter(k => k.path === depth?.path)
  const others = knobs.filter(k => k.path !== depth?.path)
  const dial = value(`rods.${id}.settings.dial`)
  const ring = value(`rods.${id}.settings.ring`)
  const side = value(`rods.${id}.settings.side`)
  const rigKind = textAt(form, `rods.${id}.rig.kind`)
  return (
    <div class={`rod-settings ${line.side}`}>
      <RodHead line={line} />
      <div class="first-knob">
        {first.map(k => (
          <NumberSetting key={k.path} line={line} knob={k} hint={k.hint} />
        ))}
      </div>
      {dial !== undefined && <Dial line={line} dial={Number(dial)} />}
      <div class="setting-row">
        {(ring !== undefined || rigKind === 'diver') && (
          <Toggle
            label={settingRow('ring').label}
            on={isOn(ring)}
            onValue={on =>
              doc.nudge(
                `rods.${id}.settings.ring`,
                on ? 'on' : 'off',
                `${line.name}: ring ${on ? 'on' : 'off'}`,
              )
            }
          />
        )}
        {side !== undefined && (
          <Choice
            label="Runs to"
            value={side}
            options={settingRow('side').words.map(w => ({ value: w, text: w }))}
            onValue={v => doc.nudge(`rods.${id}.settings.side`, v, `${line.name}: to ${v}`)}
          />
        )}
      </div>
      {others.map(k => (
        <NumberSetting key={k.path} line={line} knob={k} hint={k.hint} />
      ))}
      <details class="gear-choices">
        <summary>Line, leader, attractor, lure</summary>
        {[...rigGear(form, id), ...partsBehind(form, id)].map(p => (
          <GearSelect key={p.path} name={line.name} path={p.path} kind={p.key} value={p.gear} />
        ))}
      </details>
      <Warnings list={line.state.warnings} />
    </div>
  )
}

/** On a phone the lit rod's depth and its main setting stay under the thumb. */
function Tray() {
  const line = doc.selectedLine.value
  if (!line || line.device) return null
  const u = settings.value.units
  const knob = depthKnob(doc.form.value, line.state.rod, u)
  const lure = line.state.lures[0]
  const TrayStrike = rooms.value?.TrayStrike
  return (
    <section class={`tray ${line.side}`} aria-label={`${line.name} in hand`}>
      <div class="tray-head">
        <p>
          <b>
            {line.tag} {capital(line.name)}
          </b>
          {lure && believed(line) && (
            <>
              {' '}
              {length(u, Math.max(0, lure.depth_m))} ({span(u, lure.depth_lo_m, lure.depth_hi_m)})
            </>
          )}
        </p>
        {TrayStrike && <TrayStrike rod={line.state.rod} />}
        <Button kind="quiet" label="Done with this rod" onClick={() => (doc.selected.value = null)}>
          Done
        </Button>
      </div>
      {knob && <NumberSetting line={line} knob={knob} hint="" />}
    </section>
  )
}

function RodHead(props: { line: Line }) {
  const { line } = props
  const u = settings.value.units
  const lure = line.state.lures[0] ?? line.state.bodies[0]
  return (
    <header class="rod-head">
      <h2>
        <span class="tag">{line.tag}</span> {capital(line.name)}
      </h2>
      {lure && believed(line) && (
        <p class="rod-depth">
          <b>{length(u, Math.max(0, lure.depth_m))}</b> deep, {span(u, lure.depth_lo_m, lure.depth_hi_m)}{' '}
          {lengthUnit(u)} 4 times in 5{line.pending ? ' (interval being worked out)' : ''}; pull{' '}
          {force(u, line.state.tip_pull_n)} at the tip
        </p>
      )}
      <Button kind="quiet" label="Done with this rod" onClick={() => (doc.selected.value = null)}>
        Done
      </Button>
    </header>
  )
}

function NumberSetting(props: { line: Line; knob: SettingKnob; hint: string }) {
  const { path, row, min, max, step, value: written } = props.knob
  const tried = doc.trial.value.get(path)
  const now = tried === undefined ? written : Number.parseFloat(tried) || 0
  const colors = row.kind === 'colors'
  const unit = props.knob.unit || 'colors'
  const shown = step < 1 ? 1 : 0
  return (
    <Stepper
      label={row.label}
      hint={props.hint}
      value={Number(now.toFixed(shown))}
      unit={unit}
      digits={Number.isInteger(now) && colors ? 0 : shown}
      min={min}
      max={max}
      step={step}
      {...(colors ? {} : { big: 10 })}
      onValue={v => {
        const text = colors ? String(v) : `${v.toFixed(shown)} ${unit}`
        doc.nudge(
          path,
          text,
          `${props.line.name}: ${row.label.toLowerCase()} ${text}${colors ? ' colors' : ''}`,
        )
      }}
    />
  )
}

/** The diver's dial. */
function Dial(props: { line: Line; dial: number }) {
  const row = settingRow('dial')
  const { min, max, step } = row.us!
  const path = `rods.${props.line.state.rod}.settings.${row.key}`
  return (
    <div class="dial">
      <label class="control-label" for="dial">
        {row.label} <b>{props.dial}</b>
        <small> {row.is.diver}</small>
      </label>
      <input
        id="dial"
        type="range"
        min={min}
        max={max}
        step={step}
        value={props.dial}
        aria-valuetext={`mark ${props.dial}`}
        onInput={e => {
          const v = e.currentTarget.value
          doc.nudge(path, v, `${props.line.name}: dial ${v}`)
        }}
      />
      <div class="dial-marks" aria-hidden="true">
        {Array.from({ length: max - min + 1 }, (_, i) => (
          <span key={i}>{min + i}</span>
        ))}
      </div>
    </div>
  )
}

/** One piece of gear, out of many: drawn anew only when it is another, not while a lure is dragged. */
const GearSelect = memo(function GearSelect(props: {
  name: string
  path: string
  kind: string
  value: string
}) {
  // A leader may be of any line too.
  const kinds =
    props.kind === 'leader' ? ['leader', 'line'] : props.kind === 'weighted' ? ['line'] : [props.kind]
  const options = kinds.flatMap(k => {
    const found = doc.gear.value.find(g => g.kind === k)
    if (!found) return []
    return [
      ...found.own.map(g => ({ value: g.id, text: plain(g.id), group: `your ${found.key}` })),
      ...found.built_in.map(g => ({ value: g.id, text: plain(g.id), group: `built-in ${found.key}` })),
    ]
  })
  const label =
    {
      line: 'Line',
      weighted: 'Sinking line',
      diver: 'Diver',
      board: 'Board',
      snubber: 'Snubber',
      attractor: 'Attractor',
      leader: 'Leader',
      lure: 'Lure',
      weight: 'Weight',
    }[props.kind] ?? capital(props.kind)
  if (!options.some(o => o.value === props.value))
    options.unshift({ value: props.value, text: plain(props.value), group: 'in the file' })
  return (
    <Select
      label={label}
      value={props.value}
      options={options}
      onValue={v => void doc.put(props.path, v, `${props.name}: ${label.toLowerCase()} ${plain(v)}`)}
    />
  )
})

/** The settings of the boat as a whole: speed, and all lines at once. */
function Whole() {
  const u = settings.value.units
  const form = doc.form.value
  const written = value('speed.value')
  const now = written === undefined ? undefined : readSpeed(written)
  const given = textAt(form, 'speed.given')
  const against =
    { ground: 'over ground', probe: 'at the probe', surface: 'through the surface water' }[given ?? ''] ?? ''
  const step = u === 'us' ? 0.1 : 0.05
  const solved = doc.solved.value
  const busy = useSignal(false)
  const move = async (order: string) => {
    busy.value = true
    await moveAll(order)
    busy.value = false
  }
  const by = u === 'us' ? 10 : 3
  return (
    <div class="whole">
      {now !== undefined && (
        <Stepper
          label="Speed"
          hint={against}
          value={Number((u === 'us' ? now / MPH : now).toFixed(u === 'us' ? 2 : 3))}
          unit={u === 'us' ? 'mph' : 'm/s'}
          digits={u === 'us' ? 1 : 2}
          min={u === 'us' ? 0.5 : 0.2}
          max={u === 'us' ? 6 : 3}
          step={step}
          onValue={v => {
            const text = u === 'us' ? `${v.toFixed(1)} mph` : `${v.toFixed(2)} m/s`
            doc.nudge('speed.value', text, `speed ${text} ${against}`)
          }}
        />
      )}
      {solved && given === 'ground' && (
        <p class="plan-note">That is {speed(u, solved.speed.surface_mps)} through the surface water.</p>
      )}
      <div class="setting-row">
        <Button disabled={busy.value} onClick={() => void move(`down ${by} ${lengthUnit(u)}`)}>
          All down {by} {lengthUnit(u)}
        </Button>
        <Button disabled={busy.value} onClick={() => void move(`up ${by} ${lengthUnit(u)}`)}>
          All up {by} {lengthUnit(u)}
        </Button>
        {busy.value && <p role="status">Finding the settings…</p>}
      </div>
    </div>
  )
}

function RodList() {
  const u = settings.value.units
  const lit = doc.selected.value
  const lines = doc.lines.value
  if (lines.length === 0) return null
  const row = (l: Line) => <RodRow key={l.id} line={l} lit={l.id === lit} units={u} />
  return (
    <div class="rod-list">
      <h2>Rods, port to starboard</h2>
      <ul>{lines.filter(l => !l.device).map(row)}</ul>
      {lines.some(l => l.device) && (
        <>
          <h3>Downriggers and boards they share</h3>
          <ul>{lines.filter(l => l.device).map(row)}</ul>
        </>
      )}
    </div>
  )
}

/** A rod or device in the list; drawn anew only when it moved or is lit. */
const RodRow = memo(function RodRow(props: { line: Line; lit: boolean; units: Units }) {
  const { line: l, lit, units: u } = props
  const unit = lengthUnit(u)
  const lure = l.state.lures[0] ?? l.state.bodies[0]
  const sane = believed(l) && lure !== undefined
  return (
    <li>
      <button
        type="button"
        class={`rod-row ${l.side}${lit ? ' lit' : ''}`}
        aria-pressed={lit}
        onClick={() => (doc.selected.value = lit ? null : l.id)}
      >
        <span class="tag">{l.tag || '·'}</span>
        <span class="rod-name">
          {l.name}
          <small>{l.state.settings}</small>
        </span>
        <span class="rod-out">
          <b>{lengthNumber(u, l.state.line_out_m)}</b> <small>{unit} out</small>
        </span>
        <span class="rod-deep">
          {sane ? (
            <>
              <b>{lengthNumber(u, Math.max(0, lure.depth_m))}</b> <small>{unit} deep</small>
              <small class={l.pending ? 'pending' : ''}>
                {span(u, lure.depth_lo_m, lure.depth_hi_m)} {unit}
              </small>
            </>
          ) : (
            <small>not worked out</small>
          )}
        </span>
        {l.state.status !== 'ok' && <span class="rod-trouble">! {statusWords[l.state.status]}</span>}
      </button>
    </li>
  )
})

export const statusWords: Record<string, string> = {
  bottom: 'on the bottom: take line in or move to deeper water',
  surface: 'runs at the surface: slow down, let line out or add weight',
  'over-strength': 'over its line’s strength: slow down or fish stronger line',
  'beyond-spool': 'asks for more line than is on the spool',
  'not-converged': 'could not be worked out: check its gear and settings',
  refused: 'cannot run as described',
}

function Warnings(props: { list: readonly Warning[] }) {
  if (props.list.length === 0) return null
  return (
    <ul class="warnings">
      {props.list.map(w => (
        <li key={w.code + w.text}>
          <b>Watch: </b>
          {sentence(w.text)} {w.hint ? sentence(w.hint) : ''}
        </li>
      ))}
    </ul>
  )
}

/** What lines are called: it stays the same while they move. */
const names = computed(() => JSON.stringify(doc.lines.value.map(l => [l.state.rod, l.name])))

function Cautions() {
  const solved = doc.solved.value
  if (!solved) return null
  const called = new Map<string, string>(JSON.parse(names.value))
  const name = (id: string) => called.get(id) ?? id
  const watched = solved.tracks.flatMap(t => t.warnings.map(w => ({ rod: name(t.rod), w })))
  return (
    <div class="cautions">
      {watched.length + solved.warnings.length > 0 && <h2>To watch</h2>}
      <ul class="warnings">
        {solved.warnings.map(w => (
          <li key={w.text}>
            {sentence(w.text)} {w.hint ? sentence(w.hint) : ''}
          </li>
        ))}
        {watched.map(({ rod, w }) => (
          <li key={rod + w.code + w.text}>
            <b>{capital(rod)}: </b>
            {sentence(w.text)} {w.hint ? sentence(w.hint) : ''}
          </li>
        ))}
      </ul>
      {solved.cautions.map(c => (
        <p key={c} class="plan-note">
          {sentence(c)}
        </p>
      ))}
    </div>
  )
}
