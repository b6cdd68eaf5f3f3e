// Boat and gear: what is aboard, drawn to scale, and every number of it open to change.
import { useSignal } from '@preact/signals'
import { useEffect, useId, useState } from 'preact/hooks'
import type { Change, FormValue } from '../api'
import { ask } from '../engine/client'
import * as doc from '../model/doc'
import { type FormMap, isMap, listAt, textAt } from '../model/form'
import { settings } from '../model/settings'
import { signPath } from '../plan/signs'
import { Button, Choice, Select } from '../ui/controls'
import { capital, FOOT, length, plain, readLength } from '../words'
import { addRod, type FirstRig, freeID } from './newrod'

const ids = (list: FormMap[]) => list.map(x => (typeof x.id === 'string' ? x.id : '')).filter(Boolean)

export function Gear() {
  return (
    <div class="page gear">
      <h1>Boat and gear</h1>
      <p>
        Every number is yours to change. What you leave alone has a built-in default with its source. Values
        are written with their unit: “20 ft”, “0.4 mm”, “14 g”.
      </p>
      {doc.trouble.value && (
        <p class="trouble-words" role="alert">
          <b>! </b>
          {doc.trouble.value}
        </p>
      )}
      <Boat />
      <Rods />
      <OwnGear />
    </div>
  )
}

/** One value as text, written when the person leaves it. */
export function Field(props: {
  label: string
  path: string
  value: string | undefined
  hint?: string
  what: string
}) {
  const id = useId()
  const [typed, setTyped] = useState<string | null>(null)
  const write = async () => {
    const next = typed?.trim()
    setTyped(null)
    if (next === undefined || next === (props.value ?? '')) return
    if (next === '')
      await doc.edit(
        [{ do: 'remove', path: props.path }],
        `${props.what}: ${props.label.toLowerCase()} as the default`,
      )
    else
      await doc.edit(
        [{ do: 'set', path: props.path, value: scalar(next) }],
        `${props.what}: ${props.label.toLowerCase()} ${next}`,
      )
  }
  return (
    <div class="field">
      <label class="control-label" for={id}>
        {props.label}
      </label>
      <input
        id={id}
        autocomplete="off"
        value={typed ?? props.value ?? ''}
        placeholder={props.hint ?? ''}
        onInput={e => setTyped(e.currentTarget.value)}
        onBlur={() => void write()}
        onKeyDown={e => {
          if (e.key === 'Enter') void write()
          if (e.key === 'Escape') setTyped(null)
        }}
      />
    </div>
  )
}

/** A text as a single YAML value, whatever it holds. */
export function scalar(text: string): string {
  return /^[\w.][\w .%/-]*$/.test(text) ? text : JSON.stringify(text)
}

/** A value of the form as YAML on one line: numbers stay numbers. */
export function flow(v: FormValue): string {
  if (Array.isArray(v)) return `[${v.map(flow).join(', ')}]`
  if (isMap(v))
    return `{${Object.entries(v)
      .map(([k, x]) => `${k}: ${flow(x)}`)
      .join(', ')}}`
  return v === null ? 'null' : scalar(v)
}

function Boat() {
  const form = doc.form.value
  const u = settings.value.units
  const f = (label: string, key: string, hint = '') => (
    <Field label={label} path={`boat.${key}`} value={textAt(form, `boat.${key}`)} hint={hint} what="boat" />
  )
  return (
    <section aria-labelledby="gear-boat">
      <h2 id="gear-boat">Boat</h2>
      <BoatFromAbove />
      <div class="fields">
        {f('Name', 'name')}
        {f('Length', 'length', u === 'us' ? '20 ft' : '6 m')}
        {f('Beam', 'beam', u === 'us' ? '8 ft' : '2.4 m')}
      </div>
      <details>
        <summary>Rod holders: where each rod’s tip is</summary>
        <p class="plan-note">From the transom’s center line at the waterline.</p>
        {listAt(form, 'boat.holders').map(h => {
          const id = String(h.id)
          const tip = isMap(h.tip) ? h.tip : {}
          return (
            <fieldset key={id} class="item">
              <legend>{textAt(h, 'position') ?? plain(id)}</legend>
              <div class="fields">
                <Field
                  label="Called"
                  path={`boat.holders.${id}.position`}
                  value={textAt(h, 'position')}
                  what={plain(id)}
                />
                {Object.keys(tip).map(k => (
                  <Field
                    key={k}
                    label={`Tip ${k}`}
                    path={`boat.holders.${id}.tip.${k}`}
                    value={textAt(tip, k)}
                    what={plain(id)}
                  />
                ))}
              </div>
            </fieldset>
          )
        })}
      </details>
    </section>
  )
}

/** A point of the boat frame in meters forward and to starboard, from the file's words. */
function pointOf(p: FormValue | undefined): [number, number] {
  const m = (k: string) => readLength(textAt(p, k) ?? '') ?? 0
  return [m('forward') - m('aft'), m('starboard') - m('port')]
}

/** The boat from above, to scale: hull, rod tips, booms. The bow points left, as in the lines plan. */
function BoatFromAbove() {
  const form = doc.form.value
  const u = settings.value.units
  const hull =
    doc.plan.value?.views.find(v => v.id === 'above')?.shapes.find(s => s.class === 'hull')?.points ?? []
  const tips = listAt(form, 'boat.holders').map(h => ({
    name: textAt(h, 'position') ?? plain(String(h.id)),
    at: pointOf(h.tip),
  }))
  const booms = listAt(form, 'boat.booms').map(b => ({
    name: `boom ${plain(String(b.id))}`,
    at: pointOf(b.end),
  }))
  const all = [
    ...hull.map(([a, b]) => [-a, b] as [number, number]),
    ...tips.map(t => t.at),
    ...booms.map(b => b.at),
  ]
  if (all.length < 2) return null
  const xs = all.map(p => -p[0])
  const ys = all.map(p => -p[1])
  const x0 = Math.min(...xs) - 0.6
  const y0 = Math.min(...ys) - 0.6
  const w = Math.max(...xs) - x0 + 0.6
  const h = Math.max(...ys) - y0 + 0.6
  const step = u === 'us' ? 5 * FOOT : 2
  const side = (y: number) => (y < 0 ? 'port' : y > 0 ? 'starboard' : 'middle')
  return (
    <figure class="boat-figure">
      <svg
        viewBox={`${x0} ${y0} ${w} ${h}`}
        role="img"
        aria-label={`The boat from above, to scale, with ${tips.length} rod tips and ${booms.length} booms`}
      >
        {hull.length > 2 && (
          <path class="boat-hull" d={`M${hull.map(([a, b]) => `${a} ${-b}`).join('L')}Z`} />
        )}
        <path class="boat-scale" d={`M${x0 + w - step - 0.2} ${y0 + h - 0.2}h${step}`} />
        {booms.map(b => (
          <g
            key={b.name}
            class={`rod ${side(b.at[1])}`}
            transform={`translate(${-b.at[0]} ${-b.at[1]}) scale(.03)`}
          >
            <path class="body" d={signPath('ball', '')} />
          </g>
        ))}
        {tips.map(t => (
          <g
            key={t.name}
            class={`rod ${side(t.at[1])}`}
            transform={`translate(${-t.at[0]} ${-t.at[1]}) scale(.035)`}
          >
            <path class="mark" d={signPath('lure', side(t.at[1]))} />
          </g>
        ))}
      </svg>
      <figcaption class="plan-note">
        From above, bow to the left; port is down (squares), starboard is up (triangles). Rings are booms. The
        bar is {length(u, step)}.
      </figcaption>
    </figure>
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
    const { changes, id } = addRod(rig.value, side.value, taken)
    if (await doc.edit(changes, `added a ${side.value} ${plain(rig.value)} rod`)) doc.selected.value = id
  }
  const copy = (r: FormMap) => {
    // A holder has one rod: the copy stands in a copy of it, to be moved to its place.
    const id = freeID(`${String(r.id)}-copy`, [...taken.rods, ...taken.holders])
    const holder = listAt(form, 'boat.holders').find(h => h.id === r.holder)
    const called = `${textAt(holder, 'position') ?? plain(String(r.holder))} copy`
    const changes: Change[] = [
      { do: 'insert', path: 'boat.holders', value: flow({ ...holder, id, position: called }) },
      { do: 'insert', path: 'rods', value: flow({ ...r, id, holder: id }) },
    ]
    void doc.edit(changes, `copied ${name(String(r.id))}`)
  }
  return (
    <section aria-labelledby="gear-rods">
      <h2 id="gear-rods">Rods</h2>
      <div class="fields">
        <Choice
          label="Rig"
          value={rig.value}
          options={[
            { value: 'diver', text: 'diver' },
            { value: 'downrigger', text: 'downrigger' },
            { value: 'flat-line', text: 'flat line' },
            { value: 'lead-core', text: 'lead core' },
          ]}
          onValue={v => (rig.value = v)}
        />
        <Choice
          label="Side"
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
            <li key={id} class="item-row">
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
                  onClick={() =>
                    void doc.edit([{ do: 'remove', path: `rods.${id}` }], `took ${name(id)} out`)
                  }
                >
                  Take out
                </Button>
              </span>
            </li>
          )
        })}
      </ul>
      {list.length < 2 && <p class="plan-note">The last rod stays: a spread has at least one.</p>}
    </section>
  )
}

const kindWords: Record<string, string> = {
  lines: 'Lines',
  reels: 'Reels',
  divers: 'Divers',
  boards: 'Boards',
  balls: 'Balls',
  weights: 'Weights',
  attractors: 'Attractors',
  lures: 'Lures',
  leaders: 'Leaders',
  snubbers: 'Snubbers',
}

/** A built-in number as it is read: its last digits are those of a conversion. */
function short(text: string | undefined): string {
  return (text ?? '').replace(/\d+\.\d{3,}/, n => String(Number(Number(n).toPrecision(4))))
}

const skipped = new Set(['id', 'from', 'kind', 'attributes', 'dial', 'rated'])

function OwnGear() {
  const form = doc.form.value
  const builtIn = useSignal<FormValue>(null)
  const picked = useSignal<Record<string, string>>({})
  useEffect(() => {
    void ask('gear', { full: true }).then(a => (builtIn.value = a.built_in ?? null))
  }, [])
  return (
    <section aria-labelledby="gear-own">
      <h2 id="gear-own">Gear</h2>
      <p>Your own gear starts as a copy of a built-in one of its kind. Change only what you have measured.</p>
      {doc.gear.value.map(k => {
        const own = listAt(form, `gear.${k.key}`)
        const from = picked.value[k.key] ?? k.built_in[0]?.id ?? ''
        const add = () => {
          const id = freeID(`my-${from}`, [...ids(own), ...k.built_in.map(b => b.id)])
          void doc.edit(
            [{ do: 'insert', path: `gear.${k.key}`, value: `{id: ${id}, from: ${from}}` }],
            `added ${plain(id)}`,
          )
        }
        return (
          <details key={k.key}>
            <summary>
              {kindWords[k.key] ?? capital(k.key)}: {own.length} of your own, {k.built_in.length} built in
            </summary>
            {own.map(item => (
              <Item
                key={String(item.id)}
                kind={k.key}
                item={item}
                base={baseOf(builtIn.value, k.key, item)}
              />
            ))}
            <div class="setting-row">
              <Select
                label="Start from"
                value={from}
                options={k.built_in.map(b => ({ value: b.id, text: plain(b.id) }))}
                onValue={v => (picked.value = { ...picked.value, [k.key]: v })}
              />
              <Button onClick={add}>
                Add {kindWords[k.key]?.toLowerCase().replace(/s$/, '') ?? 'one'} of your own
              </Button>
            </div>
          </details>
        )
      })}
    </section>
  )
}

/** The built-in gear that an item starts from, or is. */
function baseOf(builtIn: FormValue, key: string, item: FormMap): FormMap {
  const list = listAt(builtIn, key)
  return list.find(b => b.id === item.from) ?? list.find(b => b.id === item.id) ?? {}
}

function Item(props: { kind: string; item: FormMap; base: FormMap }) {
  const { item, base } = props
  const id = String(item.id)
  const path = `gear.${props.kind}.${id}`
  const keys = [...new Set([...Object.keys(base), ...Object.keys(item)])].filter(k => !skipped.has(k))
  const take: Change = { do: 'remove', path }
  return (
    <fieldset class="item">
      <legend>
        {capital(plain(id))} {item.from ? <small>from {plain(String(item.from))}</small> : null}
      </legend>
      {props.kind === 'reels' && <Spool item={item} base={base} />}
      <div class="fields">
        {keys.map(k => (
          <Field
            key={k}
            label={capital(plain(k))}
            path={`${path}.${k}`}
            value={textAt(item, k)}
            hint={short(textAt(base, k))}
            what={plain(id)}
          />
        ))}
      </div>
      <Button label={`Take out ${plain(id)}`} onClick={() => void doc.edit([take], `took ${plain(id)} out`)}>
        Take out
      </Button>
    </fieldset>
  )
}

/** A reel's spool across its axle, to scale: bare arbor and full flange. */
function Spool(props: { item: FormMap; base: FormMap }) {
  const m = (k: string) => readLength(textAt(props.item, k) ?? textAt(props.base, k) ?? '') ?? 0
  const [arbor, flange, width] = [m('arbor') * 1000, m('flange') * 1000, m('width') * 1000]
  if (!(arbor > 0 && flange > arbor && width > 0)) return null
  return (
    <figure class="boat-figure">
      <svg
        class="spool"
        viewBox={`-6 -2 ${width + 12} ${flange + 4}`}
        role="img"
        aria-label={`Spool to scale: arbor ${arbor.toFixed(0)} mm, flange ${flange.toFixed(0)} mm, ${width.toFixed(0)} mm between`}
      >
        <rect class="spool-room" width={width} height={flange} />
        <rect class="spool-arbor" y={(flange - arbor) / 2} width={width} height={arbor} />
        <path class="spool-flange" d={`M-2 0V${flange}M${width + 2} 0V${flange}`} />
      </svg>
    </figure>
  )
}
