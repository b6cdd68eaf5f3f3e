// Boat and gear: what is aboard, drawn to scale, and every number of it open to change.
import { useSignal } from '@preact/signals'
import * as doc from '../model/doc'
import { adding, flow } from '../model/edits'
import { type FormMap, listAt, textAt } from '../model/form'
import { Button, Choice, Select } from '../ui/controls'
import { capital, plain } from '../words'
import { Boat } from './boat'
import { addRod, type FirstRig, freeID } from './newrod'
import { OwnGear } from './owngear'
import { gearOptions, Riggers } from './riggers'
import { Spools } from './spools'
import { Water } from './water'

const ids = (list: FormMap[]) => list.map(x => (typeof x.id === 'string' ? x.id : '')).filter(Boolean)

const sections = [
  ['gear-rods', 'Rods'],
  ['gear-boat', 'Boat'],
  ['gear-riggers', 'Downriggers'],
  ['gear-spools', 'Spools'],
  ['gear-water', 'Water'],
  ['gear-own', 'Gear'],
] as const

export function Gear() {
  return (
    <div class="page gear">
      <h1>Boat and gear</h1>
      <p>
        Every number is yours to change. What you leave alone has a built-in default with its source. Values
        are written with their unit: “20 ft”, “0.4 mm”, “14 g”.
      </p>
      <fieldset class="jump">
        <legend class="hidden">Go to</legend>
        {sections.map(([id, name]) => (
          <Button
            key={id}
            label={`Go to ${name}`}
            onClick={() => {
              const heading = document.getElementById(id)
              heading?.setAttribute('tabindex', '-1')
              heading?.focus()
              heading?.scrollIntoView({ block: 'start' })
            }}
          >
            {name}
          </Button>
        ))}
      </fieldset>
      {doc.trouble.value && (
        <p class="trouble-words" role="alert">
          <b>! </b>
          {doc.trouble.value}
        </p>
      )}
      <div class="gear-columns">
        <Rods />
        <Boat />
        <Riggers />
        <Spools />
        <Water />
        <OwnGear />
      </div>
    </div>
  )
}

function Rods() {
  const form = doc.form.value
  const rig = useSignal<FirstRig>('diver')
  const side = useSignal<'port' | 'starboard'>('port')
  const list = listAt(form, 'rods')
  const taken = {
    rods: ids(list),
    holders: ids(listAt(form, 'boat.holders')),
    booms: ids(listAt(form, 'boat.booms')),
    downriggers: ids(listAt(form, 'downriggers')),
  }
  const name = (id: string) => doc.lines.value.find(l => l.id === id)?.name ?? plain(id)
  const add = async () => {
    const { edits, id } = addRod(rig.value, side.value, taken)
    if (await doc.edit(edits, `added a ${side.value} ${plain(rig.value)} rod`)) doc.selected.value = id
  }
  const copy = (r: FormMap) => {
    // A holder has one rod: the copy stands in a copy of it, to be moved to its place.
    const id = freeID(`${String(r.id)}-copy`, [...taken.rods, ...taken.holders])
    const holder = listAt(form, 'boat.holders').find(h => h.id === r.holder)
    const called = `${textAt(holder, 'position') ?? plain(String(r.holder))} copy`
    const edits = [
      adding('boat.holders', flow({ ...holder, id, position: called })),
      adding('rods', flow({ ...r, id, holder: id })),
    ]
    void doc.edit(edits, `copied ${name(String(r.id))}`)
  }
  return (
    <section aria-labelledby="gear-rods">
      <h2 id="gear-rods">Rods</h2>
      <div class="fields">
        <Choice
          label="A new rod, rigged with"
          value={rig.value}
          options={[
            { value: 'diver', text: 'diver' },
            { value: 'downrigger', text: 'downrigger' },
            { value: 'flat-line', text: 'nothing: flat line' },
            { value: 'lead-core', text: 'lead core' },
          ]}
          onValue={v => (rig.value = v)}
        />
        <Choice
          label="On its"
          value={side.value}
          options={[
            { value: 'port', text: 'port' },
            { value: 'starboard', text: 'starboard' },
          ]}
          onValue={v => (side.value = v)}
        />
      </div>
      <Button kind="main" onClick={() => void add()}>
        Add this rod
      </Button>
      <ul class="items">
        {list.map(r => {
          const id = String(r.id)
          return (
            <li key={id}>
              <div class="item-row">
                <span>
                  <b>{capital(name(id))}</b> <small>{plain(textAt(r, 'rig.kind') ?? 'parts')}</small>
                </span>
                <span class="setting-row">
                  <Button label={`Copy ${name(id)}`} onClick={() => copy(r)}>
                    Copy
                  </Button>
                  <Button
                    label={`Take out ${name(id)}`}
                    disabled={list.length < 2}
                    onClick={() => void doc.remove(`rods.${id}`, `took ${name(id)} out`)}
                  >
                    Take out
                  </Button>
                </span>
              </div>
              <RodPlaces rod={r} name={name(id)} />
            </li>
          )
        })}
      </ul>
      {list.length < 2 && <p class="plan-note">The last rod stays: a spread has at least one.</p>}
    </section>
  )
}

/** Where a rod stands and what it is on: its holder, its reel, its downrigger. */
function RodPlaces(props: { rod: FormMap; name: string }) {
  const { rod, name } = props
  const form = doc.form.value
  const id = String(rod.id)
  const set = (key: string, value: string, what: string) =>
    void (value === ''
      ? doc.remove(`rods.${id}.${key}`, `${name}: ${what}`)
      : doc.put(`rods.${id}.${key}`, value, `${name}: ${what}`))
  const reel = textAt(rod, 'reel')
  const taken = listAt(form, 'rods')
    .filter(r => r !== rod)
    .map(r => r.holder)
  const rigger = textAt(rod, 'rig.downrigger')
  return (
    <details class="rod-places">
      <summary>Holder, reel{rigger ? ', downrigger' : ''}</summary>
      <div class="fields">
        <Select
          label={`Holder of ${name}`}
          value={textAt(rod, 'holder') ?? ''}
          options={listAt(form, 'boat.holders')
            .filter(h => !taken.includes(h.id ?? null))
            .map(h => ({ value: String(h.id), text: textAt(h, 'position') ?? plain(String(h.id)) }))}
          onValue={v => set('holder', v, `holder ${plain(v)}`)}
        />
        <Select
          label={`Reel of ${name}`}
          value={reel ?? ''}
          options={[{ value: '', text: 'none: its spool is not watched' }, ...gearOptions('reel', reel)]}
          onValue={v => set('reel', v, v ? `reel ${plain(v)}` : 'no reel')}
        />
        {rigger && (
          <Select
            label={`Downrigger of ${name}`}
            value={rigger}
            options={listAt(form, 'downriggers').map(d => ({
              value: String(d.id),
              text: plain(String(d.id)),
            }))}
            onValue={v => set('rig.downrigger', v, `on ${plain(v)}`)}
          />
        )}
      </div>
    </details>
  )
}
