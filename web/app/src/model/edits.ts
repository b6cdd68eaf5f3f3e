// Edits of the file, from the paths by which the app reads it. An edit names a thing by its
// id and a key of it; what has no id is given with the whole list that it is in.
import type { Edit, FormValue } from '../api'
import { at, type FormMap, isMap, listAt } from './form'

/** The thing that has what a path leads to, and its key there. */
export function owned(path: string): { owner: string; key: string } {
  const steps = path.split('.')
  const first = steps[0] ?? ''
  const inBoat = first === 'boat' && /^(holders|booms|masts)$/.test(steps[1] ?? '') && steps.length > 3
  const of = /^(rods|downriggers|mast_boards)$/.test(first) ? 2 : first === 'gear' || inBoat ? 3 : 1
  const owner = Math.min(of, steps.length - 1)
  return { owner: steps.slice(0, owner).join('.'), key: steps.slice(owner).join('.') }
}

/** The path of what an edit names. */
export const pathOf = (e: Edit) => [e.owner, e.key].filter(Boolean).join('.')

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

/** A value with another at the end of some steps; the uncertainty of what was there stays. */
function placed(v: FormValue, steps: readonly string[], to: FormValue): FormValue {
  const [step, ...rest] = steps
  if (step === undefined) return isMap(v) && 'value' in v && !isMap(to) ? { ...v, value: to } : to
  if (Array.isArray(v)) return v.map((x, i) => (i === Number(step) ? placed(x, rest, to) : x))
  const map = isMap(v) ? v : {}
  return { ...map, [step]: placed(map[step] ?? null, rest, to) }
}

const listOf = (path: string) => /^(.*?)\[(.*)$/.exec(path)

/** The edits that give values to paths. Several in one list make one edit of it. */
export function setting(form: FormValue, entries: Iterable<readonly [string, FormValue]>): Edit[] {
  const whole = new Map<string, FormValue>()
  for (const [path, value] of entries) {
    const [, list, inside] = listOf(path) ?? []
    if (list === undefined || inside === undefined) whole.set(path, value)
    else {
      const steps = inside.replaceAll('[', '.').replaceAll(']', '').split('.')
      whole.set(list, placed(whole.get(list) ?? at(form, list) ?? [], steps, value))
    }
  }
  return [...whole].map(([path, value]) => ({ ...owned(path), value: flow(value) }))
}

/** The edit that adds a thing with an id to a list, in the file's words. */
export const adding = (list: string, value: string): Edit => ({ do: 'add', owner: list, value })

/** The edit that makes a list one element longer whose elements have no id. */
export function appending(form: FormValue, list: string, element: FormMap): Edit {
  return { ...owned(list), value: flow([...listAt(form, list), element]) }
}

/** The edit that takes away a key, a thing, or an element of a list; of the last one its list. */
export function taking(form: FormValue, path: string): Edit {
  const [, list, index] = /^(.*)\[(\d+)\]$/.exec(path) ?? []
  const all = list === undefined ? [] : listAt(form, list)
  if (list !== undefined && all.length > 1) {
    return { ...owned(list), value: flow(all.filter((_, i) => i !== Number(index))) }
  }
  const what = list ?? path
  const isThing = owned(`${what}.id`).owner === what
  return { do: 'remove', ...(isThing ? { owner: what } : owned(what)) }
}
