// The scenario file as it is written, and what the app reads from it.
import type { FormValue } from '../api'
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

function lengthKnob(
  form: FormValue,
  path: string,
  u: Units,
  maxFeet: number,
  metersNow?: number,
): Knob | undefined {
  const text = textAt(form, path)
  const meters = text === undefined ? metersNow : readLength(text)
  if (meters === undefined) return undefined
  return u === 'us'
    ? { path, unit: 'ft', value: meters / FOOT, min: 0, max: maxFeet, step: 1 }
    : { path, unit: 'm', value: meters, min: 0, max: Math.round(maxFeet * FOOT), step: 0.5 }
}

function colorsKnob(form: FormValue, path: string): Knob | undefined {
  const value = Number(textAt(form, path))
  return Number.isFinite(value) ? { path, unit: '', value, min: 0.5, max: 20, step: 0.5 } : undefined
}

const mostLine = 1000 // ft; spools end before
const mostCable = 400 // ft

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
export function depthKnob(form: FormValue, rodID: string, u: Units): Knob | undefined {
  const rod = at(form, `rods.${rodID}`)
  if (!isMap(rod)) return undefined
  const s = `rods.${rodID}.settings`
  const kind = textAt(rod, 'rig.kind')
  if (kind === 'downrigger') {
    const device = textAt(rod, 'rig.downrigger')
    if (isStacked(form, rodID)) return lengthKnob(form, `${s}.above_ball`, u, mostCable)
    return lengthKnob(form, `downriggers.${device}.cable_out`, u, mostCable)
  }
  if (at(rod, 'settings.colors') !== undefined) return colorsKnob(form, `${s}.colors`)
  if (kind === 'board' && textAt(rod, 'rig.diver') === undefined) {
    return lengthKnob(form, `${s}.lead`, u, mostLine)
  }
  if (kind === 'mast-board') return lengthKnob(form, `${s}.lead`, u, mostLine)
  return lengthKnob(form, `${s}.line_out`, u, mostLine)
}

export interface SettingKnob extends Knob {
  label: string
  hint: string
}

/** Every setting of a rod that is a number, with what it counts. */
export function settingKnobs(form: FormValue, rodID: string, u: Units): SettingKnob[] {
  const rod = at(form, `rods.${rodID}`)
  if (!isMap(rod)) return []
  const s = `rods.${rodID}.settings`
  const out: SettingKnob[] = []
  const add = (knob: Knob | undefined, label: string, hint: string) => {
    if (knob) out.push({ ...knob, label, hint })
  }
  const kind = textAt(rod, 'rig.kind')
  const has = (key: string) => at(rod, `settings.${key}`) !== undefined
  if (kind === 'downrigger') {
    const device = textAt(rod, 'rig.downrigger')
    add(
      lengthKnob(form, `downriggers.${device}.cable_out`, u, mostCable),
      'Cable out',
      'from the boom’s end to the ball; rods on the same cable move with it',
    )
    add(
      lengthKnob(form, `${s}.above_ball`, u, mostCable, 0),
      'Release above ball',
      'up the cable from the ball',
    )
  }
  if (has('line_out')) {
    const board = kind === 'board'
    add(
      lengthKnob(form, `${s}.line_out`, u, mostLine),
      'Line out',
      board
        ? 'from the tip to the board'
        : kind === 'weighted' || kind === 'flat-line'
          ? 'from the tip to the lure'
          : 'from the tip to the diver',
    )
  }
  if (has('colors')) add(colorsKnob(form, `${s}.colors`), 'Colors out', 'of lead core, 30 ft each')
  if (has('lead'))
    add(
      lengthKnob(form, `${s}.lead`, u, mostLine),
      'Lead',
      kind === 'downrigger'
        ? 'from the release back to the lure'
        : kind === 'board'
          ? 'from the board back to the lure'
          : 'from the diver back to the lure',
    )
  if (has('along'))
    add(lengthKnob(form, `${s}.along`, u, mostLine), 'Along the tow line', 'from the mast to the release')
  return out
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
