// Downriggers: boom, cable and ball of each, and a new one.
import { useSignal } from '@preact/signals'
import * as doc from '../model/doc'
import { adding } from '../model/edits'
import { listAt, textAt } from '../model/form'
import { Button, Choice, Select, Toggle } from '../ui/controls'
import { Field } from '../ui/field'
import { capital, plain } from '../words'
import { freeID, newRigger } from './newrod'

type Side = 'port' | 'center' | 'starboard'

const ends: Record<Side, string> = {
  port: '{forward: 1 ft, port: 6 ft, up: 4 ft}',
  center: '{aft: 2 ft, up: 4 ft}',
  starboard: '{forward: 1 ft, starboard: 6 ft, up: 4 ft}',
}

/** Names of gear of one kind, the person's own first. */
export function gearOptions(kind: string, now: string | undefined, first?: RegExp) {
  const found = doc.gear.value.find(g => g.kind === kind)
  const built = found?.built_in ?? []
  const sorted = first
    ? [...built.filter(b => first.test(b.kind)), ...built.filter(b => !first.test(b.kind))]
    : built
  const options = [
    ...(found?.own ?? []).map(g => ({ value: g.id, text: plain(g.id), group: `your ${found?.key}` })),
    ...sorted.map(g => ({ value: g.id, text: plain(g.id), group: `built-in ${found?.key}` })),
  ]
  if (now && !options.some(o => o.value === now))
    options.unshift({ value: now, text: plain(now), group: 'in the file' })
  return options
}

export function Riggers() {
  const form = doc.form.value
  const side = useSignal<Side>('port')
  const list = listAt(form, 'downriggers')
  const booms = listAt(form, 'boat.booms').map(b => String(b.id))
  const add = () => {
    const id = freeID(
      `rigger-${side.value}`,
      list.map(d => String(d.id)),
    )
    const boom = freeID(`boom-${side.value}`, booms)
    void doc.edit(
      [adding('boat.booms', `{id: ${boom}, end: ${ends[side.value]}}`), newRigger(id, boom)],
      `added a ${side.value} downrigger`,
    )
  }
  return (
    <section aria-labelledby="gear-riggers">
      <h2 id="gear-riggers">Downriggers</h2>
      {list.map(d => {
        const id = String(d.id)
        const path = `downriggers.${id}`
        const users = listAt(form, 'rods').filter(r => textAt(r, 'rig.downrigger') === id)
        const pick = (label: string, key: string, options: { value: string; text: string }[]) => (
          <Select
            label={label}
            value={textAt(d, key) ?? ''}
            options={options}
            onValue={v =>
              void doc.put(`${path}.${key}`, v, `${plain(id)}: ${label.toLowerCase()} ${plain(v)}`)
            }
          />
        )
        return (
          <fieldset key={id} class="item">
            <legend>{capital(plain(id))}</legend>
            <div class="fields">
              {pick(
                'Boom',
                'boom',
                booms.map(b => ({ value: b, text: plain(b) })),
              )}
              {pick('Ball', 'ball', gearOptions('ball', textAt(d, 'ball')))}
              {pick('Cable', 'cable', gearOptions('line', textAt(d, 'cable'), /cable|braid/))}
              <Field
                label="Cable out"
                path={`${path}.cable_out`}
                value={textAt(d, 'cable_out')}
                what={plain(id)}
              />
            </div>
            <div class="setting-row">
              <Toggle
                label="Ball may tick the bottom"
                on={textAt(d, 'bottom') === 'intended'}
                onValue={on => {
                  const what = `${plain(id)}: ball ${on ? 'may tick' : 'stays off'} the bottom`
                  void (on ? doc.put(`${path}.bottom`, 'intended', what) : doc.remove(`${path}.bottom`, what))
                }}
              />
              <Button
                label={`Take out ${plain(id)}`}
                disabled={users.length > 0}
                onClick={() => void doc.remove(path, `took ${plain(id)} out`)}
              >
                Take out
              </Button>
              {users.length > 0 && (
                <p class="plan-note">
                  {users.length === 1 ? 'One rod is' : `${users.length} rods are`} clipped to it: give{' '}
                  {users.length === 1 ? 'it' : 'them'} another one first.
                </p>
              )}
            </div>
          </fieldset>
        )
      })}
      <Choice
        label="A new downrigger"
        value={side.value}
        options={[
          { value: 'port', text: 'port' },
          { value: 'center', text: 'center' },
          { value: 'starboard', text: 'starboard' },
        ]}
        onValue={v => (side.value = v)}
      />
      <Button onClick={add}>Add a downrigger</Button>
      <p class="plan-note">
        A ball on a wire that hangs up pulls the boat’s side down: slow into it, and keep hands clear of the
        cable.
      </p>
    </section>
  )
}
