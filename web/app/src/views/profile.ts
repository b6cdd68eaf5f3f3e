// A temperature profile from a file: its numbers go into the scenario's own text.
import type { FormValue } from '../api'
import { askLong, FaultError } from '../engine/client'
import * as doc from '../model/doc'
import { setting, taking } from '../model/edits'
import { at } from '../model/form'
import { settings } from '../model/settings'
import { FOOT, length, type Units } from '../words'

const most = 3 << 20 // bytes that are read here

/** Lets the person choose a file of temperatures. */
export function chooseProfile(): Promise<File | undefined> {
  return new Promise(resolve => {
    const input = document.createElement('input')
    input.type = 'file'
    input.accept = '.csv,.txt,.ocean,text/csv,text/plain'
    input.addEventListener('cancel', () => resolve(undefined))
    input.addEventListener('change', () => resolve(input.files?.[0]))
    input.click()
  })
}

/** Points going down as a list of the file, in the person's units. */
export function profilePoints(points: readonly (readonly [number, number])[], u: Units): FormValue {
  const number = (v: number, digits: number) => String(Number(v.toFixed(digits)))
  return points.map(([z, t]) =>
    u === 'us'
      ? { depth: `${number(z / FOOT, 1)} ft`, temp: `${number(t * 1.8 + 32, 1)} F` }
      : { depth: `${number(z, 2)} m`, temp: `${number(t, 2)} C` },
  )
}

/** Takes a profile's file into the scenario and says in words what came of it. */
export async function takeProfile(file: File): Promise<string> {
  if (file.size > most)
    return `${file.name} has ${Math.ceil(file.size / 1024)} KB; ${most >> 10} KB are read here. Cut it to the last days.`
  const u = settings.value.units
  try {
    const got = await askLong('profile', { name: file.name, text: await file.text() })
    const points = profilePoints(got.points as [number, number][], u)
    const edits = setting(doc.form.value, [['water.temperature', points]])
    if (
      at(doc.form.value, 'water.profile') !== undefined ||
      doc.faults.value.some(f => f.path === 'water.profile')
    )
      edits.unshift(taking(doc.form.value, 'water.profile'))
    if (!(await doc.edit(edits, `temperatures from ${file.name}`))) return doc.trouble.value
    const [first, last] = [got.points[0]?.[0] ?? 0, got.points.at(-1)?.[0] ?? 0]
    const when = got.measured ? `, measured ${got.measured}` : ''
    return `Taken from ${file.name}: ${got.points.length} depths from ${length(u, first)} to ${length(u, last)}${when}.`
  } catch (e) {
    if (e instanceof FaultError && e.faults[0]) {
      const f = e.faults[0]
      const where = f.line ? `, line ${f.line}` : ''
      return `${file.name}${where} cannot be taken: ${doc.faultWords(f)}`
    }
    return `${file.name} could not be read${e instanceof Error ? `: ${e.message}` : ''}.`
  }
}
