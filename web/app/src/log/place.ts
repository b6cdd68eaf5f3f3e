// Where the boat is, once the person has turned that on: the last place the device gave,
// for the entries written soon after. It goes into entries and nowhere else.
import { effect, type ReadonlySignal, signal } from '@preact/signals'
import type { Place } from '../api'
import { store as device } from '../model/settings'

export type Placing =
  | { state: 'off' }
  | { state: 'seeking' }
  | { state: 'found'; accuracy: number } // m, two times in three
  | { state: 'none'; words: string }

const key = 'sternfan.place'
/** An entry takes the place of a moment ago: at trolling speed some 70 m. */
const fresh = 60_000

export const on = signal(device.get(key) === 'yes')
export const placing = signal<Placing>({ state: 'off' })

let last: { at: number; place: Place } | undefined
let watch: number | undefined

export function turn(yes: boolean): void {
  device.set(key, yes ? 'yes' : '')
  on.value = yes
}

/** The place for an entry written now, if one is known. */
export function where(): Place | undefined {
  return on.value && last && Math.abs(Date.now() - last.at) <= fresh ? last.place : undefined
}

/** Asks the device for places while it is turned on and a trip is under way. */
export function follow(underWay: ReadonlySignal<boolean>): void {
  effect(() => {
    if (on.value && underWay.value) begin()
    else end()
  })
}

function end(): void {
  if (watch !== undefined) navigator.geolocation.clearWatch(watch)
  watch = undefined
  last = undefined
  placing.value = { state: 'off' }
}

function begin(): void {
  if (watch !== undefined) return
  if (!window.isSecureContext || !navigator.geolocation) {
    placing.value = {
      state: 'none',
      words: 'this browser gives a page its place only by HTTPS or on the device that serves it',
    }
    return
  }
  placing.value = { state: 'seeking' }
  watch = navigator.geolocation.watchPosition(
    got => {
      const { latitude, longitude, accuracy } = got.coords
      last = { at: Date.now(), place: { lat: +latitude.toFixed(5), lon: +longitude.toFixed(5) } }
      placing.value = { state: 'found', accuracy }
    },
    trouble => {
      placing.value =
        trouble.code === trouble.PERMISSION_DENIED
          ? { state: 'none', words: 'the browser was told not to give it: allow it there' }
          : { state: 'seeking' }
    },
    { enableHighAccuracy: true, maximumAge: 10_000, timeout: 60_000 },
  )
}
