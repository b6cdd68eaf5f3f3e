// Water temperature as lines of equal temperature: where they crowd, it changes fast.
import type { Units } from '../words'

export interface Isotherm {
  depth: number // m
  text: string
}

/** Lines at round steps between the profile's ends, from [depth m, °C] points going down. */
export function isotherms(profile: readonly (readonly [number, number])[], units: Units): Isotherm[] {
  const toUnit = (c: number) => (units === 'us' ? c * 1.8 + 32 : c)
  const label = units === 'us' ? '°F' : '°C'
  const all = profile.map(([, c]) => toUnit(c))
  if (all.length < 2) return []
  const most = Math.max(...all) - Math.min(...all)
  const step = units === 'us' ? (most > 40 ? 10 : 5) : most > 20 ? 5 : 2
  const out: Isotherm[] = []
  for (let i = 0; i + 1 < profile.length; i++) {
    const [z0] = profile[i]!
    const [z1] = profile[i + 1]!
    const t0 = all[i]!
    const t1 = all[i + 1]!
    if (t0 === t1) continue
    const lo = Math.min(t0, t1)
    const hi = Math.max(t0, t1)
    for (let k = Math.ceil(lo / step); k * step <= hi; k++) {
      const t = k * step
      if (t === t1 && i + 2 < profile.length) continue // the next piece begins there
      out.push({ depth: z0 + ((t - t0) / (t1 - t0)) * (z1 - z0), text: `${t}${label}` })
    }
  }
  return out.sort((a, b) => a.depth - b.depth)
}
