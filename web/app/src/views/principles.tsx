// A piece of gear from nothing: its plain fields with their units.
import { useState } from 'preact/hooks'
import * as doc from '../model/doc'
import { adding, scalar } from '../model/edits'
import { Button } from '../ui/controls'
import { freeID } from './newrod'

export interface Principle {
  key: string
  label: string
  hint: string // as a person would write it
  needed?: boolean
}

const size = { key: 'mass', label: 'Mass in air', hint: '80 g' }
const areas: Principle[] = [
  { key: 'lift_area', label: 'Pull to the side: coefficient × area', hint: '110 cm2', needed: true },
  { key: 'drag_area', label: 'Drag: coefficient × area', hint: '55 cm2', needed: true },
]

/** What a kind of gear is made of. A dial stands for the tilts at its marks. */
export const principles: Record<string, Principle[]> = {
  divers: [
    { key: 'kind', label: 'Kind', hint: 'directional' },
    { key: 'diameter', label: 'Diameter of the disc', hint: '105 mm', needed: true },
    { key: 'ring_diameter', label: 'Diameter with the ring on', hint: '140 mm, or nothing' },
    size,
    { key: 'volume', label: 'Volume', hint: '40 cm3' },
    { key: 'normal_coefficient', label: 'Force coefficient at 45 degrees', hint: '1.3' },
    { key: 'incidence', label: 'Incidence without a leader’s pull', hint: '45 deg' },
    { key: 'give', label: 'Incidence lost to that pull', hint: '2.5 deg/lb' },
    { key: 'tripped_area', label: 'Drag area with the arm open', hint: '10 cm2' },
    { key: 'trip_load', label: 'Pull that opens the arm', hint: '8 lb' },
    ...[0, 1, 2, 3, 4].map(m => ({
      key: `dial ${m}`,
      label: `Tilt at dial mark ${m}`,
      hint: `${[0, 10, 19, 28, 36][m]} deg`,
    })),
  ],
  boards: [
    { key: 'kind', label: 'Kind', hint: 'in-line' },
    { ...size, hint: '280 g', needed: true },
    { key: 'volume', label: 'Volume when fully under', hint: '660 cm3', needed: true },
    { key: 'height', label: 'Height', hint: '85 mm' },
    ...areas,
    { key: 'trip_load', label: 'Pull at which its clip lets go', hint: '6 lb' },
  ],
  lines: [
    { key: 'kind', label: 'Kind', hint: 'braid' },
    { key: 'diameter', label: 'Diameter', hint: '0.4 mm', needed: true },
    { key: 'mass', label: 'Mass per length', hint: '0.13 g/m', needed: true },
    { key: 'strength', label: 'Strength on the label', hint: '50 lb' },
    { key: 'stiffness', label: 'Stiffness: pull over strain', hint: '5000 N' },
    { key: 'normal', label: 'Drag coefficient across', hint: 'by its speed' },
    { key: 'friction', label: 'Drag coefficient along', hint: '0.02' },
  ],
  reels: [
    { key: 'arbor', label: 'Diameter of the bare spool', hint: '35 mm', needed: true },
    { key: 'flange', label: 'Diameter when full', hint: '62 mm', needed: true },
    { key: 'width', label: 'Width inside', hint: '45 mm', needed: true },
    { key: 'backing', label: 'Line under the main line', hint: 'mono-20' },
    { key: 'backing_length', label: 'How much of it', hint: '100 ft' },
    { key: 'capacity', label: 'Main line on it', hint: 'what fits' },
  ],
  balls: [
    { key: 'kind', label: 'Kind', hint: 'round' },
    { ...size, hint: '12 lb', needed: true },
    { key: 'density', label: 'Density', hint: '11.3 g/cm3' },
    { key: 'drag_area', label: 'Drag: coefficient × area', hint: 'by its size' },
  ],
  weights: [
    { ...size, hint: '4 oz', needed: true },
    { key: 'density', label: 'Density', hint: '11.3 g/cm3' },
    { key: 'drag_area', label: 'Drag: coefficient × area', hint: 'by its size' },
  ],
  attractors: [
    { key: 'kind', label: 'Kind', hint: 'rotating' },
    { key: 'plate_area', label: 'Area of the plate', hint: '120 cm2', needed: true },
    { key: 'coefficient', label: 'Drag coefficient as it moves', hint: '0.5' },
    { key: 'mass', label: 'Mass in air', hint: '60 g' },
    { key: 'length', label: 'Length', hint: '200 mm' },
  ],
  lures: [
    { key: 'kind', label: 'Kind', hint: 'spoon' },
    { ...size, hint: '14 g', needed: true },
    { key: 'drag_area', label: 'Drag: coefficient × area', hint: '8 cm2', needed: true },
    { key: 'volume', label: 'Volume', hint: '2 cm3' },
    { key: 'speed_lo', label: 'Works from', hint: '1.8 mph' },
    { key: 'speed_hi', label: 'Works to', hint: '3.2 mph' },
  ],
}

/** The fields written as one entry of the file. */
export function entryOf(id: string, values: Readonly<Record<string, string>>): string {
  const own: string[] = [`id: ${id}`]
  const dial: string[] = []
  for (const [key, value] of Object.entries(values)) {
    const text = value.trim()
    if (text === '') continue
    const mark = /^dial (\d)$/.exec(key)?.[1]
    if (mark) dial.push(`{mark: ${mark}, tilt: ${scalar(text)}}`)
    else own.push(`${key}: ${scalar(text)}`)
  }
  if (dial.length > 0) own.push(`dial: [${dial.join(', ')}]`)
  return `{${own.join(', ')}}`
}

export function FirstPrinciples(props: { kind: string; word: string; taken: string[]; onDone: () => void }) {
  const [values, setValues] = useState<Record<string, string>>({})
  const [name, setName] = useState('')
  const fields = principles[props.kind] ?? []
  const missing = fields.filter(f => f.needed && !values[f.key]?.trim())
  const stem = name
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '')
    .slice(0, 60)
  const add = async () => {
    const id = freeID(stem || `my-${props.word}`, props.taken)
    const added = adding(`gear.${props.kind}`, entryOf(id, values))
    if (await doc.edit([added], `added ${id.replaceAll('-', ' ')}`)) props.onDone()
  }
  const input = (key: string, label: string, hint: string, value: string, on: (v: string) => void) => (
    <div class="field" key={key}>
      <label class="control-label" for={`principle-${props.kind}-${key}`}>
        {label}
      </label>
      <input
        id={`principle-${props.kind}-${key}`}
        autocomplete="off"
        placeholder={hint}
        value={value}
        onInput={e => on(e.currentTarget.value)}
      />
    </div>
  )
  return (
    <fieldset class="item">
      <legend>A {props.word} from first principles</legend>
      <p class="plan-note">
        Write each with its unit. What you leave empty is estimated where it can be; what has a * cannot. In
        italics: how such a value is written, not a value to copy.
      </p>
      <div class="fields">
        {input('name', 'Called', `my ${props.word}`, name, setName)}
        {fields.map(f =>
          input(f.key, f.needed ? `${f.label} *` : f.label, f.hint, values[f.key] ?? '', v =>
            setValues({ ...values, [f.key]: v }),
          ),
        )}
      </div>
      {doc.trouble.value && (
        <p class="trouble-words" role="status">
          <b>! </b>
          {doc.trouble.value}
        </p>
      )}
      <div class="setting-row">
        <Button kind="main" disabled={missing.length > 0} onClick={() => void add()}>
          Add it
        </Button>
        <Button onClick={props.onDone}>Not now</Button>
        {missing.length > 0 && (
          <p class="plan-note">Still needed: {missing.map(f => f.label.toLowerCase()).join(', ')}.</p>
        )}
      </div>
    </fieldset>
  )
}
