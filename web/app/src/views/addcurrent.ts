// A current put into the file.
import * as doc from '../model/doc'
import { appending, setting } from '../model/edits'
import { at, type FormMap, listAt, textAt } from '../model/form'
import { settings } from '../model/settings'
import { FOOT, readLength, type Units } from '../words'

/** A depth under the last of a list. */
export const nextDepth = (u: Units, list: FormMap[], by: number): string => {
  const last = readLength(textAt(list.at(-1), 'depth') ?? '') ?? -by * FOOT
  return u === 'us' ? `${Math.round(last / FOOT + by)} ft` : `${(last + by * FOOT).toFixed(0)} m`
}

/** Puts a current into the file, at the surface or under the last; the heading comes with it. */
export function addCurrent(): Promise<boolean> {
  const form = doc.form.value
  const u = settings.value.units
  const list = listAt(form, 'water.current')
  const last = list.at(-1)
  const speed = textAt(last, 'speed') ?? (u === 'us' ? '0.3 mph' : '0.1 m/s')
  const toward = textAt(last, 'toward') ?? '0 deg'
  const depth = last ? nextDepth(u, list, 30) : u === 'us' ? '0 ft' : '0 m'
  const edits = [appending(form, 'water.current', { depth, speed, toward })]
  if (at(form, 'heading') === undefined) edits.unshift(...setting(form, [['heading', '0 deg']]))
  return doc.edit(edits, `a current at ${depth}`)
}
