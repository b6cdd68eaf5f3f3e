// What became of a strike: written when there is time, put right by another entry.
import { signal, useSignal } from '@preact/signals'
import type { EntryNow, LogBodies } from '../api'
import { ask } from '../engine/client'
import { changeTo } from '../log/grow'
import * as log from '../log/log'
import { settings } from '../model/settings'
import { Button, Choice, Dialog } from '../ui/controls'
import { Field } from './logfield'

export interface Fish {
  strike: string
  rod: string
  outcome: 'landed' | 'lost'
  entry?: EntryNow // the entry that is put right
}

/** The fish that is being written up; null when none is. */
export const fish = signal<Fish | null>(null)

const common = ['king salmon', 'coho salmon', 'steelhead', 'lake trout', 'brown trout', 'walleye']

/** The names used on this trip first, then common ones. */
function speciesNames(): string[] {
  const used = (log.now.value?.catches ?? []).map(c => c.species ?? '').filter(Boolean)
  return [...new Set([...used.toReversed(), ...common])].slice(0, 8)
}

/** Reads a quantity as a person writes it; a bare number is of the unit that is usual. */
export async function quantity(kind: string, text: string, unit: string): Promise<number | undefined> {
  const t = text.trim()
  if (!t) return undefined
  const whole = /^-?[\d.,]+$/.test(t) ? `${t.replace(',', '.')} ${unit}` : t
  const got = await ask('quantity', { units: settings.value.units, items: [{ kind, text: whole }] })
  return got.items[0]?.si
}

export function FishDialog() {
  const f = fish.value
  if (!f) return null
  return <Form key={f.strike} fish={f} />
}

function Form(props: { fish: Fish }) {
  const f = props.fish
  const us = settings.value.units === 'us'
  const was = (f.entry?.body ?? {}) as LogBodies['landed']
  const shown = (si: number | undefined, per: number) =>
    si === undefined ? '' : String(+(si / per).toFixed(2))
  const species = useSignal(was.species ?? '')
  const size = useSignal(shown(was.length_m, us ? 0.0254 : 0.01))
  const weight = useSignal(shown(was.mass_kg, us ? 0.45359237 : 1))
  const fate = useSignal<string>(was.fate ?? '')
  const note = useSignal(was.note ?? '')
  const trouble = useSignal('')
  const close = () => (fish.value = null)
  const save = async () => {
    try {
      const length_m = await quantity('small', size.value, us ? 'in' : 'cm')
      const mass_kg = await quantity('mass', weight.value, us ? 'lb' : 'kg')
      const body: LogBodies['landed'] = {
        strike: was.strike ?? f.strike,
        ...(species.value.trim() ? { species: species.value.trim() } : {}),
        ...(length_m === undefined ? {} : { length_m }),
        ...(mass_kg === undefined ? {} : { mass_kg }),
        ...(fate.value === 'kept' || fate.value === 'released' ? { fate: fate.value } : {}),
        ...(note.value.trim() ? { note: note.value.trim() } : {}),
      }
      close()
      if (f.entry) {
        const change = changeTo(was, body)
        await log.fix({ of: f.entry.id, to: 'landed', change }, `Fish on ${log.nameOf(f.rod)} put right`)
      } else await log.landed(f.rod, body)
    } catch (e) {
      trouble.value = log.wordsOf(e)
    }
  }
  const names = speciesNames()
  return (
    <Dialog title={`Landed on ${log.nameOf(f.rod)}`} open onClose={close}>
      <Choice
        label="Species"
        value={species.value}
        options={names.map(n => ({ value: n, text: n }))}
        onValue={v => (species.value = v)}
      />
      <Field label="or another" value={species.value} onValue={v => (species.value = v)} />
      <Choice
        label="Kept or released"
        value={fate.value}
        options={[
          { value: 'kept', text: 'kept' },
          { value: 'released', text: 'released' },
        ]}
        onValue={v => (fate.value = v)}
      />
      <div class="fields">
        <Field
          label={`Length, ${us ? 'in' : 'cm'}`}
          value={size.value}
          number
          onValue={v => (size.value = v)}
        />
        <Field
          label={`Weight, ${us ? 'lb' : 'kg'}`}
          value={weight.value}
          number
          onValue={v => (weight.value = v)}
        />
      </div>
      <Field label="Note" value={note.value} onValue={v => (note.value = v)} />
      {trouble.value && (
        <p class="trouble-words" role="alert">
          <b>! </b>
          {trouble.value}
        </p>
      )}
      <Button kind="main" onClick={() => void save()}>
        Log the fish
      </Button>
      <p class="plan-note">Limits, sizes and seasons are for local rules.</p>
    </Dialog>
  )
}
