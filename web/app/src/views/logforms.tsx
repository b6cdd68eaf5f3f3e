// What is read, measured or worth keeping, each written down as one entry.
import { useSignal } from '@preact/signals'
import type { LogBodies, LogReadingKind } from '../api'
import * as log from '../log/log'
import { settings } from '../model/settings'
import { Button, Choice, Select } from '../ui/controls'
import { Field } from './logfield'
import { quantity } from './logfish'

function Trouble(props: { words: string }) {
  if (!props.words) return null
  return (
    <p class="trouble-words" role="alert">
      <b>! </b>
      {props.words}
    </p>
  )
}

export function Conditions() {
  const us = settings.value.units === 'us'
  const ground = useSignal('')
  const probe = useSignal('')
  const probeDepth = useSignal('')
  const heading = useSignal('')
  const warmth = useSignal('')
  const bottom = useSignal('')
  const sky = useSignal('')
  const clarity = useSignal('')
  const trouble = useSignal('')
  const fields = [ground, probe, probeDepth, heading, warmth, bottom, sky, clarity]
  const speed = us ? 'mph' : 'm/s'
  const length = us ? 'ft' : 'm'
  const save = async () => {
    try {
      const [over, at, deep, warm, water] = await Promise.all([
        quantity('speed', ground.value, speed),
        quantity('speed', probe.value, speed),
        quantity('length', probeDepth.value, length),
        quantity('temperature', warmth.value, us ? 'F' : 'C'),
        quantity('length', bottom.value, length),
      ])
      const course = heading.value.trim() ? Number(heading.value.replace(/°|deg.*/g, '')) : undefined
      if (course !== undefined && !(course >= 0 && course <= 360)) {
        trouble.value = 'A heading is 0 to 360 degrees.'
        return
      }
      const body: LogBodies['conditions'] = {
        ...(over === undefined ? {} : { over_ground_mps: over }),
        ...(at === undefined ? {} : { probe_mps: at }),
        ...(deep === undefined ? {} : { probe_depth_m: deep }),
        ...(course === undefined ? {} : { heading_deg: course }),
        ...(warm === undefined ? {} : { temperature_c: [[0, warm]] }),
        ...(water === undefined ? {} : { bottom_m: water }),
        ...(sky.value.trim() ? { sky: sky.value.trim() } : {}),
        ...(clarity.value.trim() ? { clarity: clarity.value.trim() } : {}),
      }
      if (Object.keys(body).length === 0) {
        trouble.value = 'Nothing is given yet.'
        return
      }
      trouble.value = ''
      await log.add('conditions', body, 'Conditions logged')
      for (const f of fields) f.value = ''
    } catch (e) {
      trouble.value = log.wordsOf(e)
    }
  }
  return (
    <details>
      <summary>Conditions{log.now.value?.conditions_words ? '' : ' (none yet)'}</summary>
      {log.now.value?.conditions_words && <p>Last: {log.now.value.conditions_words}.</p>}
      <div class="fields">
        <Field
          label={`Speed over ground, ${speed}`}
          number
          value={ground.value}
          onValue={v => (ground.value = v)}
        />
        <Field
          label={`Speed at the ball, ${speed}`}
          number
          value={probe.value}
          onValue={v => (probe.value = v)}
        />
        <Field
          label={`at a depth of, ${length}`}
          number
          value={probeDepth.value}
          onValue={v => (probeDepth.value = v)}
        />
        <Field label="Heading, degrees" number value={heading.value} onValue={v => (heading.value = v)} />
        <Field
          label={`Surface water, °${us ? 'F' : 'C'}`}
          number
          value={warmth.value}
          onValue={v => (warmth.value = v)}
        />
        <Field
          label={`Depth of water, ${length}`}
          number
          value={bottom.value}
          onValue={v => (bottom.value = v)}
        />
        <Field label="Sky" value={sky.value} onValue={v => (sky.value = v)} />
        <Field
          label="Water"
          hint="clear, stained, green"
          value={clarity.value}
          onValue={v => (clarity.value = v)}
        />
      </div>
      <Trouble words={trouble.value} />
      <Button onClick={() => void save()}>Log the conditions</Button>
    </details>
  )
}

const kinds: { value: LogReadingKind; text: string; kind: string }[] = [
  { value: 'depth_m', text: 'lure’s depth', kind: 'length' },
  { value: 'angle_deg', text: 'line angle', kind: 'angle' },
  { value: 'side_m', text: 'to the side', kind: 'length' },
  { value: 'astern_m', text: 'astern', kind: 'length' },
  { value: 'slant_m', text: 'ball on the sounder', kind: 'length' },
  { value: 'pull_n', text: 'pull', kind: 'force' },
  { value: 'touched_m', text: 'bottom touched in', kind: 'length' },
  { value: 'clear_m', text: 'bottom not touched in', kind: 'length' },
]

export function Measured() {
  const us = settings.value.units === 'us'
  const rod = useSignal('')
  const what = useSignal<LogReadingKind>('depth_m')
  const text = useSignal('')
  const how = useSignal('')
  const trouble = useSignal('')
  const rods = log.now.value?.rods ?? []
  const chosen = rod.value || rods.find(r => r.out)?.rod || rods[0]?.rod || ''
  const kind = kinds.find(k => k.value === what.value)?.kind ?? 'length'
  const unit = kind === 'angle' ? 'deg' : kind === 'force' ? (us ? 'lb' : 'N') : us ? 'ft' : 'm'
  const save = async () => {
    try {
      const si = await quantity(kind, text.value, unit === 'lb' ? 'lbf' : unit)
      if (si === undefined) {
        trouble.value = 'Give the number that was measured.'
        return
      }
      trouble.value = ''
      const set = rods.find(r => r.rod === chosen)?.set
      await log.add(
        'measured',
        {
          what: what.value,
          value: kind === 'angle' ? (si * 180) / Math.PI : si,
          ...(what.value === 'slant_m' ? { part: 'ball' } : {}),
          ...(set ? { set } : {}),
          ...(how.value.trim() ? { with: how.value.trim() } : {}),
        },
        `Measurement on ${log.nameOf(chosen)} logged`,
        chosen,
      )
      text.value = ''
    } catch (e) {
      trouble.value = log.wordsOf(e)
    }
  }
  return (
    <details>
      <summary>Something measured</summary>
      <div class="fields">
        <Select
          label="Rod"
          value={chosen}
          options={rods.map(r => ({ value: r.rod, text: log.nameOf(r.rod) }))}
          onValue={v => (rod.value = v)}
        />
        <Select
          label="What"
          value={what.value}
          options={kinds}
          onValue={v => (what.value = v as LogReadingKind)}
        />
        <Field label={`Measured, ${unit}`} number value={text.value} onValue={v => (text.value = v)} />
        <Field
          label="With"
          hint="depth logger, hand scale"
          value={how.value}
          onValue={v => (how.value = v)}
        />
      </div>
      {what.value === 'slant_m' && (
        <p class="plan-note">
          The sounder shows the distance from its transducer, not a depth: log what it shows.
        </p>
      )}
      {what.value === 'pull_n' && (
        <p class="plan-note">Mind wire and braid under load: gloves, and nobody in line with it.</p>
      )}
      <Trouble words={trouble.value} />
      <Button onClick={() => void save()}>Log the measurement</Button>
    </details>
  )
}

export function Note() {
  const text = useSignal('')
  const about = useSignal('boat')
  const lit = log.now.value?.rods.find(r => r.rod === about.value)
  return (
    <details>
      <summary>A note</summary>
      <Field label="Note" value={text.value} onValue={v => (text.value = v)} />
      <Choice
        label="About"
        value={about.value}
        options={[
          { value: 'boat', text: 'the boat' },
          ...(log.now.value?.rods ?? [])
            .filter(r => r.out)
            .map(r => ({ value: r.rod, text: log.nameOf(r.rod) })),
        ]}
        onValue={v => (about.value = v)}
      />
      <Button
        disabled={!text.value.trim()}
        onClick={() => {
          void log.add('note', { text: text.value.trim() }, 'Note logged', lit ? lit.rod : '')
          text.value = ''
        }}
      >
        Log the note
      </Button>
    </details>
  )
}
