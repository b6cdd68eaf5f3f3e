// The trip log on this device: what is written, how the trip stands by it, and the queue
// for the boat's log. An entry is kept here before anything else is done with it.
import { batch, computed, effect, signal } from '@preact/signals'
import type { LogBodies, LogEvent, LogFan, TripNow } from '../api'
import { askLong, Canceled, FaultError } from '../engine/client'
import * as doc from '../model/doc'
import { store as device, settings } from '../model/settings'
import { believed, type Line } from '../model/tracks'
import { versionOf } from './grow'
import { IDs, instant } from './ids'
import { type Part, partsOf } from './joins'
import { follow, where } from './place'
import { type Kept, keptOf, openStore, type Store } from './store'
import { exchange, type Link } from './sync'

export interface Done {
  ids: string[]
  words: string
  strike?: { id: string; rod: string }
}

/** The trip that is written to or looked at: the id of its first event. */
export const trip = signal<string | null>(null)
export const now = signal<TripNow | null>(null)
export const waiting = signal(0)
export const refused = signal<Kept[]>([])
export const link = signal<Link>({ state: 'none' })
/** Entries that this device had no room for; -1: it keeps none at all. */
export const held = signal(0)
/** What was just logged, to be taken back. */
export const done = signal<Done | null>(null)
export const trouble = signal('')
export interface Begun {
  id: string
  at: string
  by: string
  name: string
}
export const trips = signal<Begun[]>([])
/** Trips that are part of another. */
export const parts = signal<(Part & Begun)[]>([])
export const ready = signal(false)
export const clock = signal(Date.now())
export const checkEvery = signal(Number(device.get('sternfan.check')) || 30)
/** Proposals that the person only tries on the screen. */
export const onlyTrying = signal<ReadonlySet<string>>(new Set())

export const underWay = computed(() => trip.value !== null && now.value !== null && !now.value.ended)
/** Rods that the spread shows otherwise than they were logged. */
export const proposals = computed(() =>
  underWay.value
    ? (now.value?.rods ?? []).filter(
        r => r.out && r.line && r.differs && !onlyTrying.value.has(r.rod + r.differs),
      )
    : [],
)
export const conditionsProposal = computed(() => {
  const words = underWay.value ? (now.value?.shown_differs ?? '') : ''
  return onlyTrying.value.has(words) ? '' : words
})

const ids = new IDs()
const used = 'sternfan.log'
let store: Store | undefined
let by = ''
let serverHere = false
let nowFor = '' // the scenario's text that now was worked out beside

export function nameOf(rod: string): string {
  return (
    doc.lines.value.find(l => !l.device && l.state.rod === rod)?.name ??
    now.value?.rods.find(r => r.rod === rod)?.position ??
    rod
  )
}

function deviceName(): string {
  const letters = 'abcdefghjkmnpqrstuvwxyz23456789'
  const chance = crypto.getRandomValues(new Uint8Array(4))
  return `phone-${[...chance].map(b => letters[b % letters.length]).join('')}`
}

let opening: Promise<Store> | undefined

/** Opens the log, once. */
export function open(): Promise<Store> {
  opening ??= begin()
  return opening
}

async function begin(): Promise<Store> {
  const s = await openStore(n => (held.value = n))
  store = s
  for (const id of await s.ids()) ids.saw(id)
  by = String((await s.get('device')) ?? '')
  if (!by) {
    by = deviceName()
    await s.set('device', by)
  }
  device.set(used, 'yes')
  // The boat's program may have been renewed since it refused these.
  const again = (await s.all()).filter(k => k.refused)
  await s.put(again.map(({ refused: _, ...k }) => ({ ...k, waiting: 1 })))
  await count()
  await findTrips()
  const last = await s.get('trip')
  const known = trips.value.some(t => t.id === last)
  const pad = (await s.get('pad')) as TripNow | undefined
  batch(() => {
    trip.value = known ? String(last) : (trips.value[0]?.id ?? null)
    // How it stood when last worked out: the rods can be touched at once.
    if (pad && pad.trip === trip.value) now.value = pad
    ready.value = true
  })
  follow(underWay)
  effect(() => {
    // Whatever the open scenario becomes, the log says where the two differ.
    doc.text.value
    settings.value.units
    trip.value
    schedule(250)
  })
  setInterval(() => {
    clock.value = Date.now()
  }, 15_000)
  setInterval(() => schedule(0), 60_000)
  watchServer()
  effect(solveLate)
  return s
}

async function count(): Promise<void> {
  if (!store) return
  waiting.value = await store.countWaiting()
}

async function findTrips(): Promise<void> {
  if (!store) return
  const begun = await store.ofKind('trip-begins')
  const all = new Map<string, Begun>()
  for (const k of begun.toReversed()) {
    const body = k.event.body as LogBodies['trip-begins']
    all.set(k.id, { id: k.id, at: k.event.at, by: k.event.by, name: body.name || body.boat || 'no name' })
  }
  const found: (Part & Begun)[] = []
  for (const p of partsOf(begun, await store.ofKind('fix'))) {
    const b = all.get(p.trip)
    if (b) found.push({ ...b, ...p })
    all.delete(p.trip)
  }
  batch(() => {
    parts.value = found
    trips.value = [...all.values()]
  })
}

/** A trip's events, with those of its parts and of no trip. */
async function ofTrip(id: string): Promise<Kept[]> {
  if (!store) return []
  const all = new Map((await store.ofTrip(id)).map(k => [k.id, k]))
  for (const p of parts.value) {
    if (p.to === id) for (const k of await store.ofTrip(p.trip)) all.set(k.id, k)
  }
  return [...all.values()]
}

export async function tripEvents(): Promise<string> {
  await open()
  return lines(await ofTrip(trip.value ?? ''))
}

/** Trips that another device began within half a day of this one: it may be the same. */
export const alike = computed(() => {
  const mine = trips.value.find(t => t.id === trip.value)
  if (!mine) return []
  return trips.value.filter(
    t =>
      t.id !== mine.id &&
      t.by !== mine.by &&
      Math.abs(Date.parse(t.at) - Date.parse(mine.at)) < 12 * 3600_000,
  )
})

/** Makes this trip and another one: the later begun is part of the earlier, whoever says so. */
export async function joinTrips(other: Begun): Promise<void> {
  const mine = trips.value.find(t => t.id === trip.value)
  if (!mine) return
  const [whole, part] = Date.parse(mine.at) <= Date.parse(other.at) ? [mine, other] : [other, mine]
  await write(
    [make('fix', { of: part.id, trip: whole.id, why: 'one trip, begun on two devices' })],
    `The trips ${whole.name} and ${part.name} joined`,
  )
  await followTrip()
}

/** Takes a joining back. */
export async function partTrips(part: Part & Begun): Promise<void> {
  await write(
    [make('fix', { of: part.fix, void: true, why: 'a trip of its own after all' })],
    `${part.name} is a trip of its own again`,
  )
  done.value = null
  await followTrip()
}

/** Finds the trips anew; where this one has become part of another, that is looked at. */
async function followTrip(): Promise<void> {
  await findTrips()
  const whole = parts.value.find(p => p.trip === trip.value)
  if (whole) await look(whole.to)
  schedule(0)
}

let timer: ReturnType<typeof setTimeout> | undefined
let working = false
let again = false

/** Works out anew how the trip stands, soon. */
export function schedule(ms: number): void {
  clearTimeout(timer)
  timer = setTimeout(() => void workOut(), ms)
}

async function workOut(): Promise<void> {
  const id = trip.value
  if (!store || id === null) {
    now.value = null
    return
  }
  if (working) {
    again = true
    return
  }
  working = true
  try {
    const text = doc.text.value ?? ''
    const events = lines(await ofTrip(id))
    const answer = await askLong('trip', {
      text,
      units: settings.value.units,
      events,
      trip: id,
      at_ms: Date.now(),
    })
    if (trip.value === id) {
      batch(() => {
        now.value = answer
        nowFor = text
        trouble.value = ''
        clock.value = Date.now()
      })
      await store.set('pad', { ...answer, entries: [] })
    }
  } catch (e) {
    if (!(e instanceof Canceled)) trouble.value = wordsOf(e)
  }
  working = false
  if (again) {
    again = false
    schedule(0)
  }
}

export function wordsOf(e: unknown): string {
  if (e instanceof FaultError && e.faults[0]) return doc.faultWords(e.faults[0])
  return e instanceof Error ? e.message : String(e)
}

export function lines(kept: readonly Kept[]): string {
  return kept.map(k => `${JSON.stringify(k.event)}\n`).join('')
}

/** Makes an event of now. */
function make<K extends keyof LogBodies>(kind: K, body: LogBodies[K], rod = ''): LogEvent<K> {
  const at = Date.now()
  const here = kind === 'fix' || kind === 'solved' ? undefined : where()
  const version = versionOf(body)
  return {
    id: ids.next(at),
    at: instant(at),
    by,
    kind,
    ...(kind !== 'trip-begins' && trip.value ? { trip: trip.value } : {}),
    ...(rod ? { rod } : {}),
    ...(here ? { where: here } : {}),
    ...(version ? { version } : {}),
    body,
  } as LogEvent<K>
}

/** Keeps events here, says so, and sees that they go on. */
async function write(events: LogEvent[], words: string, strike?: Done['strike']): Promise<void> {
  const s = await open()
  await s.put(events.map(e => keptOf(e, { waiting: 1 })))
  batch(() => {
    done.value = { ids: events.map(e => e.id), words, ...(strike ? { strike } : {}) }
    doc.said.value = words
  })
  await count()
  schedule(0)
  void sync()
}

/** Where a rod's lures run, when what is shown is what is logged and worked out in full. */
function fanOf(l: Line | undefined): LogFan | undefined {
  const solved = doc.solved.value
  if (!l || l.pending || !solved || doc.trial.value.size > 0 || !believed(l)) return undefined
  return {
    status: l.state.status,
    surface_mps: solved.speed.surface_mps,
    tip_pull_n: l.state.tip_pull_n,
    line_angle_deg: l.state.line_angle_deg,
    lures: l.state.lures.map(b => ({
      id: b.id,
      depth_m: b.depth_m,
      depth_lo_m: b.depth_lo_m,
      depth_hi_m: b.depth_hi_m,
      side_m: b.side_m,
      astern_m: b.astern_m,
      through_water_mps: b.through_water_mps,
      ...(typeof b.temperature_c === 'number' ? { temperature_c: b.temperature_c } : {}),
    })),
    engine: 'app',
  }
}

function shown(rod: string): Line | undefined {
  return doc.lines.value.find(l => !l.device && l.state.rod === rod)
}

/** Whether the spread shows a rod as it was logged, as far as is known. */
function asLogged(rod: string): boolean {
  const r = now.value?.rods.find(x => x.rod === rod)
  return nowFor === doc.text.value && r?.line !== undefined && !r.differs
}

const unsolved = new Map<string, { rod: string; text: string | null }>()

/** Gives events that were written before their intervals were known what was found for them. */
function solveLate(): void {
  const all = doc.lines.value
  if (unsolved.size === 0) return
  const found: LogEvent[] = []
  for (const [id, u] of unsolved) {
    if (u.text !== doc.text.value) {
      unsolved.delete(id)
      continue
    }
    const fan = fanOf(all.find(l => !l.device && l.state.rod === u.rod))
    if (!fan) continue
    unsolved.delete(id)
    found.push(make('solved', { of: id, fan }))
  }
  if (found.length === 0) return
  void (async () => {
    await store?.put(found.map(e => keptOf(e, { waiting: 1 })))
    await count()
    schedule(0)
    void sync()
  })()
}

export async function beginTrip(body: LogBodies['trip-begins'], allOut: boolean): Promise<void> {
  await open()
  void navigator.storage?.persist?.().catch(() => false)
  const event = make('trip-begins', { ...body, ...(doc.text.value ? { scenario: doc.text.value } : {}) })
  await store?.put([keptOf(event, { waiting: 1 })])
  await store?.set('trip', event.id)
  trip.value = event.id
  onlyTrying.value = new Set()
  await findTrips()
  await workOut()
  const conditions = now.value?.shown
  if (conditions && Object.keys(conditions).length > 0) {
    await write([make('conditions', conditions)], 'Trip begun')
    done.value = null
  }
  if (allOut) await setRods((now.value?.rods ?? []).filter(r => r.line && !r.out).map(r => r.rod))
  await count()
  void sync()
}

export async function endTrip(): Promise<void> {
  await write([make('trip-ends', {})], 'Trip ended')
}

export async function look(id: string): Promise<void> {
  await store?.set('trip', id)
  batch(() => {
    trip.value = id
    now.value = null
    done.value = null
  })
}

/** Logs rods as set, or changed where they are out, as the spread shows them. */
export async function setRods(rods: readonly string[]): Promise<void> {
  const events: LogEvent[] = []
  const names: string[] = []
  for (const rod of rods) {
    const r = now.value?.rods.find(x => x.rod === rod)
    if (!r?.line) continue
    const fan = nowFor === doc.text.value ? fanOf(shown(rod)) : undefined
    const event = make(r.out ? 'line-changed' : 'line-set', { line: r.line, ...(fan ? { fan } : {}) }, rod)
    if (!fan && nowFor === doc.text.value) unsolved.set(event.id, { rod, text: doc.text.value })
    events.push(event)
    names.push(`${nameOf(rod)} ${r.out ? 'changed' : 'set'}`)
  }
  if (events.length === 0) return
  await write(events, names.length > 3 ? `${names.length} lines logged as shown` : names.join(', '))
}

/** A fish took hold of a rod: the one tap. */
export async function strike(rod: string): Promise<void> {
  const same = asLogged(rod)
  const fan = same ? fanOf(shown(rod)) : undefined
  const set = now.value?.rods.find(r => r.rod === rod)?.set
  const event = make('strike', { ...(set ? { set } : {}), ...(fan ? { fan } : {}) }, rod)
  if (same && !fan) unsolved.set(event.id, { rod, text: doc.text.value })
  await write([event], `Strike on ${nameOf(rod)}, ${event.at.slice(11, 16)}`, { id: event.id, rod })
}

type Plain = 'line-checked' | 'line-in' | 'line-fouled'
const plainWords: Record<Plain, string> = {
  'line-checked': 'checked',
  'line-in': 'reeled in',
  'line-fouled': 'fouled',
}

export async function mark(kind: Plain, rods: readonly string[], body: LogBodies[Plain] = {}): Promise<void> {
  const words = rods.length === 1 ? nameOf(rods[0] ?? '') : `${rods.length} lines`
  await write(
    rods.map(r => make(kind, body, r)),
    `${words} ${plainWords[kind]}`,
  )
}

export async function landed(rod: string, body: LogBodies['landed']): Promise<void> {
  await write([make('landed', body, rod)], `Landed on ${nameOf(rod)}`)
}

export async function lost(rod: string, body: LogBodies['lost']): Promise<void> {
  await write([make('lost', body, rod)], `Lost on ${nameOf(rod)}`)
}

export async function add<K extends 'conditions' | 'measured' | 'note'>(
  kind: K,
  body: LogBodies[K],
  words: string,
  rod = '',
): Promise<void> {
  await write([make(kind, body, rod)], words)
}

/** Corrects an entry by another: nothing is erased. */
export async function fix(body: LogBodies['fix'], words: string): Promise<void> {
  await write([make('fix', body)], words)
}

/** Takes back what was just logged. */
export async function undo(): Promise<void> {
  const last = done.value
  if (!last) return
  await write(
    last.ids.map(of => make('fix', { of, void: true, why: 'taken back at once' })),
    `Taken back: ${last.words}`,
  )
  done.value = null
  await followTrip()
}

/** Takes in events of another log; those that are here already stay as they are. */
export async function takeIn(text: string): Promise<number> {
  const s = await open()
  const have = new Set(await s.ids())
  const news = text
    .split('\n')
    .filter(Boolean)
    .map(l => JSON.parse(l) as LogEvent)
    .filter(e => !have.has(e.id))
  for (const e of news) ids.saw(e.id)
  await s.put(news.map(e => keptOf(e, { waiting: 1 })))
  await followTrip()
  if (trip.value === null && trips.value[0]) await look(trips.value[0].id)
  await count()
  schedule(0)
  void sync()
  return news.length
}

export async function allEvents(of: (k: Kept) => boolean = () => true): Promise<string> {
  const s = await open()
  return lines((await s.all()).filter(of))
}

export function setCheckEvery(minutes: number): void {
  checkEvery.value = minutes
  device.set('sternfan.check', String(minutes))
}

// The boat's log.

let syncing = false
let syncAgain = false

/** Whether this page comes from a server that keeps a log: it says so by a cookie. */
export function comesFromBoat(): boolean {
  return /(?:^|; )sternfan-log=/.test(document.cookie)
}

/** Exchanges with the boat's log, if there is one. */
export async function sync(ask = false): Promise<void> {
  serverHere ||= ask || comesFromBoat()
  if (!serverHere || !store) return
  if (syncing) {
    syncAgain = true
    return
  }
  syncing = true
  const got = await exchange(
    store,
    (address, init) => fetch(address, { ...init, signal: AbortSignal.timeout(20_000) }),
    new URL('.', document.baseURI).href,
    news => {
      for (const e of news) ids.saw(e.id)
      if (news.some(e => e.kind === 'trip-begins' || e.kind === 'fix')) void joined()
      schedule(0)
    },
  )
  if (got.state === 'none') serverHere = false
  link.value = got
  await count()
  refused.value = (await store.all()).filter(k => k.refused)
  syncing = false
  if (syncAgain) {
    syncAgain = false
    void sync()
  }
}

/** A trip begun on another device is joined when none is under way here. */
async function joined(): Promise<void> {
  await followTrip()
  const newest = trips.value[0]
  if (newest && newest.id !== trip.value && !underWay.value) await look(newest.id)
}

const near = 5_000
const far = 60_000

function watchServer(): void {
  let wait = near
  const turn = async () => {
    if (document.visibilityState === 'visible') {
      await sync()
      // Nobody there: ask less and less often, but within a minute of coming back in range.
      wait = link.value.state === 'joined' ? near : Math.min(far, wait * 2)
    }
    setTimeout(() => void turn(), wait)
  }
  void turn()
  addEventListener('online', () => void sync())
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible') void sync()
  })
}

/** A moment as an entry has it, in this device's local time. */
export function instantAt(ms: number): string {
  return instant(ms)
}
