// The way to the log, which is loaded when this device has used it, when the page comes
// from a boat that keeps one, or when it is asked for.
import { signal } from '@preact/signals'
import type { ComponentType } from 'preact'
import { store } from '../model/settings'

interface Rooms {
  Log: ComponentType
  Pad: ComponentType
  TrayStrike: ComponentType<{ rod: string }>
}

export const rooms = signal<Rooms | null>(null)
export const trouble = signal('')

let opening: Promise<void> | undefined

export function enter(): Promise<void> {
  opening ??= import('../views/log').then(
    m => {
      rooms.value = { Log: m.Log, Pad: m.Pad, TrayStrike: m.TrayStrike }
    },
    () => {
      opening = undefined
      trouble.value = 'The log could not be loaded. Try again with a signal.'
    },
  )
  return opening
}

/** Enters by itself where the log is in use. */
export function enterIfUsed(): void {
  if (store.get('sternfan.log') || /(?:^|; )sternfan-log=/.test(document.cookie)) void enter()
}
