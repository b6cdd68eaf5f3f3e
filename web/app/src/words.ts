// Quantities as a person reads them: the same digits as the program's tables.
export type Units = 'us' | 'si'

export const FOOT = 0.3048
export const MPH = 0.44704
export const POUND_FORCE = 4.4482216152605

export function lengthUnit(u: Units): 'ft' | 'm' {
  return u === 'us' ? 'ft' : 'm'
}

function fixed(value: number, digits: number): string {
  if (!Number.isFinite(value)) return '?'
  const text = value.toFixed(digits)
  return Number(text) === 0 ? text.replace('-', '') : text
}

/** A distance in the water without its unit: whole feet or tenths of a meter. */
export function lengthNumber(u: Units, m: number): string {
  return u === 'us' ? fixed(m / FOOT, 0) : fixed(m, 1)
}

export function length(u: Units, m: number): string {
  return `${lengthNumber(u, m)} ${lengthUnit(u)}`
}

export function speed(u: Units, mps: number): string {
  return u === 'us' ? `${fixed(mps / MPH, 1)} mph` : `${fixed(mps, 2)} m/s`
}

export function force(u: Units, n: number): string {
  const x = u === 'us' ? n / POUND_FORCE : n
  return `${fixed(x, Math.abs(x) < 10 ? 1 : 0)} ${u === 'us' ? 'lb' : 'N'}`
}

export function temperature(u: Units, c: number): string {
  return u === 'us' ? `${fixed(c * 1.8 + 32, 0)}°F` : `${fixed(c, 1)}°C`
}

/** An interval without its unit; it ends at the surface. */
export function span(u: Units, lo: number, hi: number): string {
  return `${lengthNumber(u, Math.max(0, lo))}–${lengthNumber(u, Math.max(0, hi))}`
}

/** A place to the side: "22 ft to port". */
export function sideWords(u: Units, m: number): string {
  if (Number(lengthNumber(u, m)) === 0) return 'on the center line'
  return `${length(u, Math.abs(m))} to ${m < 0 ? 'port' : 'starboard'}`
}

export function sideWord(side: number): 'port' | 'starboard' | 'middle' {
  return side < 0 ? 'port' : side > 0 ? 'starboard' : 'middle'
}

export function capital(s: string): string {
  return s.charAt(0).toUpperCase() + s.slice(1)
}

/** A sentence: a capital first and a full stop last. */
export function sentence(s: string): string {
  const text = capital(s.trim())
  return text && !/[.?!]$/.test(text) ? `${text}.` : text
}

/** An id as words: "port-high" reads "port high". */
export function plain(id: string): string {
  return id.replaceAll('-', ' ').replaceAll('_', ' ')
}

const units: Record<string, number> = {
  ft: FOOT,
  m: 1,
  in: 0.0254,
  cm: 0.01,
  mm: 0.001,
  yd: 0.9144,
  color: 9.144,
  colors: 9.144,
}

/** Reads "160 ft"; undefined for what has another form than one number and one unit. */
export function readLength(text: string): number | undefined {
  const found = /^(-?\d+(?:\.\d+)?)\s*([a-z]+)$/.exec(text.trim())
  const per = found && units[found[2] as string]
  return found && per ? Number(found[1]) * per : undefined
}

const speeds: Record<string, number> = {
  mph: MPH,
  kn: 1852 / 3600,
  'm/s': 1,
  'cm/s': 0.01,
  'km/h': 1 / 3.6,
  'ft/s': FOOT,
}

export function readSpeed(text: string): number | undefined {
  const found = /^(-?\d+(?:\.\d+)?)\s*([a-z/]+)$/.exec(text.trim())
  const per = found && speeds[found[2] as string]
  return found && per ? Number(found[1]) * per : undefined
}

/** A lure's place in words, its interval included. */
export function placeWords(
  u: Units,
  b: { depth_m: number; depth_lo_m: number; depth_hi_m: number; side_m: number; astern_m: number },
): string {
  return `${length(u, Math.max(0, b.depth_m))} deep (${span(u, b.depth_lo_m, b.depth_hi_m)}), ${sideWords(u, b.side_m)}, ${length(u, b.astern_m)} astern`
}
