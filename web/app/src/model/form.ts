// The scenario file as it is written, and what the app reads from it.
import { type FormValue, SETTINGS, type SettingRow } from '../api'
import type { Knob } from '../engine/reach'
import { FOOT, readLength, type Units } from '../words'

export type FormMap = { [key: string]: FormValue }

export function isMap(v: FormValue | undefined): v is FormMap {
  return typeof v === 'object' && v !== null && !Array.isArray(v)
}

/** Follows a path of keys, list numbers and ids: "rods.p1.settings.dial", "rods.p1.rig.behind[1].lure". */
export function at(form: FormValue | undefined, path: string): FormValue | undefined {
  let v = form
  for (const step of path.replaceAll('[', '.').replaceAll(']', '').split('.')) {
    if (Array.isArray(v)) v = /^\d+$/.test(step) ? v[Number(step)] : v.find(x => isMap(x) && x.id === step)
    else if (isMap(v)) v = v[step]
    else return undefined
  }
  return v
}

/** A single value as text, its uncertainty left out. */
export function textAt(form: FormValue | undefined, path: string): string | undefined {
  const v = at(form, path)
  if (typeof v === 'string') return v
  return isMap(v) && typeof v.value === 'string' ? v.value : undefined
}

export function listAt(form: FormValue | undefined, path: string): FormMap[] {
  const v = at(form, path)
  return Array.isArray(v) ? v.filter(isMap) : []
}

export function isOn(text: string | undefined): boolean {
  return text === 'on' || text === 'true' || text === 'yes'
}

/** What is known of a setting, by its id. */
export function settingRow(id: string): SettingRow {
  const row = SETTINGS.find(r => r.id === id)
  if (!row) throw new Error(`no such setting: ${id}`)
  return row
}

/** The setting that stands at a path of the file, if one does. */
export function settingAt(path: string): SettingRow | undefined {
  const [owner, , ...rest] = path.split('.')
  const key = rest.join('.')
  return SETTINGS.find(r => r.owner === owner && key === (owner === 'rods' ? `settings.${r.key}` : r.key))
}

export interface SettingKnob extends Knob {
  row: SettingRow
  hint: string
}

function knobAt(
  form: FormValue,
  row: SettingRow,
  path: string,
  rig: string,
  u: Units,
): SettingKnob | undefined {
  const scale = row[u]
  const text = textAt(form, path) ?? (row.id === 'above_ball' && rig === 'downrigger' ? '0 ft' : undefined)
  if (!scale || text === undefined) return undefined
  let value: number | undefined = Number(text)
  if (row.kind === 'length') value = readLength(text)
  if (value === undefined || !Number.isFinite(value)) return undefined
  if (scale.unit === 'ft') value /= FOOT
  return { ...scale, path, value, row, hint: row.is[rig] ?? row.is[''] ?? '' }
}

/** Every setting of a rod that is counted off, its device's among them. */
export function settingKnobs(form: FormValue, rodID: string, u: Units): SettingKnob[] {
  const rod = at(form, `rods.${rodID}`)
  if (!isMap(rod)) return []
  const device = textAt(rod, 'rig.downrigger') ?? textAt(rod, 'rig.mast_board')
  return SETTINGS.filter(row => row.kind !== 'mark').flatMap(row => {
    const path =
      row.owner === 'rods' ? `rods.${rodID}.settings.${row.key}` : `${row.owner}.${device}.${row.key}`
    return knobAt(form, row, path, textAt(rod, 'rig.kind') ?? '', u) ?? []
  })
}

/** The settings of a device that rods are clipped to. */
export function deviceKnobs(form: FormValue, id: string, u: Units): SettingKnob[] {
  return SETTINGS.filter(row => row.owner !== 'rods').flatMap(
    row => knobAt(form, row, `${row.owner}.${id}.${row.key}`, '', u) ?? [],
  )
}

/** Rods clipped to the same downrigger above the rod's own release share its cable. */
export function isStacked(form: FormValue, rodID: string): boolean {
  const device = textAt(form, `rods.${rodID}.rig.downrigger`)
  if (!device) return false
  const above = (id: string) => readLength(textAt(form, `rods.${id}.settings.above_ball`) ?? '0 ft') ?? 0
  return listAt(form, 'rods').some(
    r =>
      typeof r.id === 'string' &&
      r.id !== rodID &&
      textAt(r, 'rig.downrigger') === device &&
      above(r.id) < above(rodID),
  )
}

/** The setting that takes a rod's lure up and down. */
export function depthKnob(form: FormValue, rodID: string, u: Units): SettingKnob | undefined {
  const rod = at(form, `rods.${rodID}`)
  if (!isMap(rod)) return undefined
  const kind = textAt(rod, 'rig.kind')
  let id = 'line_out'
  if (kind === 'downrigger') id = isStacked(form, rodID) ? 'above_ball' : 'cable_out'
  else if (at(rod, 'settings.colors') !== undefined) id = 'colors'
  else if (kind === 'mast-board' || (kind === 'board' && textAt(rod, 'rig.diver') === undefined)) id = 'lead'
  return settingKnobs(form, rodID, u).find(k => k.row.id === id)
}

export interface PartAt {
  path: string // of the part's gear id
  key: string // "lure", "attractor", "leader", "snubber"
  gear: string
}

/** The parts behind the device, with where their gear stands in the file. */
export function partsBehind(form: FormValue, rodID: string): PartAt[] {
  const out: PartAt[] = []
  for (const list of ['rig.behind', 'rig.slider', 'rig.parts']) {
    listAt(form, `rods.${rodID}.${list}`).forEach((part, i) => {
      for (const key of ['snubber', 'attractor', 'leader', 'lure', 'weight']) {
        const gear = textAt(part, key)
        if (gear) out.push({ path: `rods.${rodID}.${list}[${i}].${key}`, key, gear })
      }
    })
  }
  return out
}

/** Where the rig's own gear stands: line, diver, board, weighted. */
export function rigGear(form: FormValue, rodID: string): PartAt[] {
  const out: PartAt[] = []
  for (const key of ['line', 'weighted', 'diver', 'board']) {
    const gear = textAt(form, `rods.${rodID}.rig.${key}`)
    if (gear) out.push({ path: `rods.${rodID}.rig.${key}`, key, gear })
  }
  return out
}
