// How a person wants to see the app. Kept on this device only.
import { effect, signal } from '@preact/signals'
import type { Units } from '../words'

export type Scheme = 'day' | 'dusk' | 'night'
export const schemes: readonly Scheme[] = ['day', 'dusk', 'night']

export interface Settings {
  scheme: Scheme
  units: Units
  hand: 'right' | 'left'
  text: 'normal' | 'large'
  motion: 'system' | 'less'
}

const defaults: Settings = { scheme: 'day', units: 'us', hand: 'right', text: 'normal', motion: 'system' }
const allowed: { [K in keyof Settings]: readonly Settings[K][] } = {
  scheme: schemes,
  units: ['us', 'si'],
  hand: ['right', 'left'],
  text: ['normal', 'large'],
  motion: ['system', 'less'],
}
const key = 'sternfan.settings'

/** Takes only what is known: the store may hold what an earlier version wrote, or anything. */
export function readSettings(json: string | null): Settings {
  const out = { ...defaults }
  try {
    const found: unknown = JSON.parse(json ?? '{}')
    if (typeof found !== 'object' || found === null) return out
    for (const k of Object.keys(defaults) as (keyof Settings)[]) {
      const value = (found as Record<string, unknown>)[k]
      if ((allowed[k] as readonly unknown[]).includes(value)) Object.assign(out, { [k]: value })
    }
  } catch {
    // Not JSON: the defaults.
  }
  return out
}

/** What the device remembers; a device that refuses to remember is as good as an empty one. */
export const store = {
  get(name: string): string | null {
    try {
      return localStorage.getItem(name)
    } catch {
      return null
    }
  },
  set(name: string, value: string | null): boolean {
    try {
      if (value === null) localStorage.removeItem(name)
      else localStorage.setItem(name, value)
      return true
    } catch {
      return false
    }
  },
}

export const settings = signal<Settings>(defaults)

export function change(part: Partial<Settings>): void {
  settings.value = { ...settings.value, ...part }
  store.set(key, JSON.stringify(settings.value))
}

/** Puts the settings on the page and keeps them there. */
export function applySettings(): void {
  settings.value = readSettings(store.get(key))
  effect(() => {
    const s = settings.value
    Object.assign(document.documentElement.dataset, {
      scheme: s.scheme,
      hand: s.hand,
      text: s.text,
      motion: s.motion,
    })
    const paper = getComputedStyle(document.documentElement).getPropertyValue('--paper').trim()
    document.querySelector('meta[name=theme-color]')?.setAttribute('content', paper || '#fdfcf9')
  })
}
