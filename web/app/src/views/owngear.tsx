// What is in the box: gear of one's own, from a built-in piece or from first principles.
import { useSignal } from '@preact/signals'
import { useEffect } from 'preact/hooks'
import type { FormValue } from '../api'
import { ask } from '../engine/client'
import * as doc from '../model/doc'
import { adding, flow } from '../model/edits'
import { type FormMap, listAt, textAt } from '../model/form'
import { Button, Select } from '../ui/controls'
import { Field } from '../ui/field'
import { capital, plain } from '../words'
import { freeID } from './newrod'
import { FirstPrinciples, principles } from './principles'
import { SpoolPicture } from './spools'

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

export function OwnGear() {
  const form = doc.form.value
  const builtIn = useSignal<FormValue>(null)
  const picked = useSignal<Record<string, string>>({})
  const fromNothing = useSignal<string | null>(null)
  useEffect(() => {
    void ask('gear', { full: true }).then(a => (builtIn.value = a.built_in ?? null))
  }, [])
  return (
    <section aria-labelledby="gear-own">
      <h2 id="gear-own">Gear</h2>
      <p>
        Your own gear starts from a built-in piece of its kind, or from nothing but its numbers. Change only
        what you have measured.
      </p>
      {doc.gear.value.map(k => {
        const own = listAt(form, `gear.${k.key}`)
        const from = picked.value[k.key] ?? k.built_in[0]?.id ?? ''
        const taken = [...ids(own), ...k.built_in.map(b => b.id)]
        const word = wordOf(k.key)
        const add = () => {
          if (from === nothing) {
            fromNothing.value = k.key
            return
          }
          const id = freeID(`my-${from}`, taken)
          void doc.edit([adding(`gear.${k.key}`, `{id: ${id}, from: ${from}}`)], `added ${plain(id)}`)
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
                taken={taken}
              />
            ))}
            {fromNothing.value === k.key ? (
              <FirstPrinciples
                kind={k.key}
                word={word}
                taken={taken}
                onDone={() => (fromNothing.value = null)}
              />
            ) : (
              <div class="setting-row">
                <Select
                  label="Start from"
                  value={from}
                  options={[
                    ...k.built_in.map(b => ({ value: b.id, text: plain(b.id) })),
                    ...(principles[k.key]
                      ? [{ value: nothing, text: 'nothing: from first principles' }]
                      : []),
                  ]}
                  onValue={v => (picked.value = { ...picked.value, [k.key]: v })}
                />
                <Button onClick={add}>
                  {from === nothing ? `Describe a ${word}` : `Add ${word} of your own`}
                </Button>
              </div>
            )}
          </details>
        )
      })}
    </section>
  )
}

const nothing = '-'

/** One piece of a kind: "line", "reel". */
const wordOf = (key: string) => (kindWords[key] ?? key).toLowerCase().replace(/s$/, '')
const ids = (list: FormMap[]) => list.map(x => (typeof x.id === 'string' ? x.id : '')).filter(Boolean)

/** The built-in gear that an item starts from, or is. */
function baseOf(builtIn: FormValue, key: string, item: FormMap): FormMap {
  const list = listAt(builtIn, key)
  return list.find(b => b.id === item.from) ?? list.find(b => b.id === item.id) ?? {}
}

function Item(props: { kind: string; item: FormMap; base: FormMap; taken: string[] }) {
  const { item, base } = props
  const id = String(item.id)
  const path = `gear.${props.kind}.${id}`
  const known = (principles[props.kind] ?? []).map(p => p.key).filter(k => !k.startsWith('dial '))
  const fields = item.from || Object.keys(base).length > 0 ? Object.keys(base) : known
  const keys = [...new Set([...fields, ...Object.keys(item)])].filter(k => !skipped.has(k))
  const dial = listAt(item, 'dial')
  const baseDial = listAt(base, 'dial')
  const copy = () => {
    const next = freeID(`${id}-copy`, props.taken)
    void doc.edit([adding(`gear.${props.kind}`, flow({ ...item, id: next }))], `copied ${plain(id)}`)
  }
  return (
    <fieldset class="item">
      <legend>
        {capital(plain(id))} {item.from ? <small>from {plain(String(item.from))}</small> : null}
      </legend>
      {props.kind === 'reels' && <SpoolPicture item={item} base={base} />}
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
        {dial.map((m, i) => (
          <Field
            key={`mark ${textAt(m, 'mark')}`}
            label={`Tilt at dial mark ${textAt(m, 'mark')}`}
            path={`${path}.dial[${i}].tilt`}
            value={textAt(m, 'tilt')}
            what={plain(id)}
          />
        ))}
      </div>
      <div class="setting-row">
        {props.kind === 'divers' && dial.length === 0 && baseDial.length > 0 && (
          <Button
            label={`Set its dial’s tilts: ${plain(id)}`}
            onClick={() =>
              void doc.put(`${path}.dial`, baseDial.map(plainMark), `${plain(id)}: a dial of its own`)
            }
          >
            Set its dial’s tilts
          </Button>
        )}
        <Button label={`Copy ${plain(id)}`} onClick={copy}>
          Copy
        </Button>
        <Button
          label={`Take out ${plain(id)}`}
          onClick={() => void doc.remove(path, `took ${plain(id)} out`)}
        >
          Take out
        </Button>
      </div>
    </fieldset>
  )
}

/** A mark of a dial in the file's words, its tilt in few digits. */
function plainMark(m: FormMap): FormMap {
  return { mark: textAt(m, 'mark') ?? '', tilt: short(textAt(m, 'tilt')) }
}
