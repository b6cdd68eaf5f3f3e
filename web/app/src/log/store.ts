// Where this device keeps its log: IndexedDB, and what it has no room for in memory until
// it has. Events are only ever added; what changes is where else they are.
import { type DBSchema, type IDBPDatabase, openDB } from 'idb'
import type { LogEvent } from '../api'

/** An event with what this device knows of it. */
export interface Kept {
  id: string
  trip: string // the id of the event that began its trip; '' for none
  kind: string
  event: LogEvent
  waiting?: 1 // for the boat's log; absent once that has it
  refused?: string // why the boat's log will not have it
}

export type Meta = 'device' | 'log' | 'after' | 'trip' | 'pad' | 'last'

export interface Store {
  /** The ids of all events. */
  ids(): Promise<string[]>
  /** A trip's events, and those of no trip. */
  ofTrip(trip: string): Promise<Kept[]>
  ofKind(kind: string): Promise<Kept[]>
  all(): Promise<Kept[]>
  waiting(most?: number): Promise<Kept[]>
  countWaiting(): Promise<number>
  put(items: readonly Kept[]): Promise<void>
  get(name: Meta): Promise<unknown>
  set(name: Meta, value: unknown): Promise<void>
}

export function keptOf(event: LogEvent, more: Partial<Kept> = {}): Kept {
  const trip = event.kind === 'trip-begins' ? event.id : (event.trip ?? '')
  return { id: event.id, trip, kind: event.kind, event, ...more }
}

/** A store that lasts as long as the page. */
export class MemoryStore implements Store {
  protected readonly events = new Map<string, Kept>()
  protected readonly meta = new Map<Meta, unknown>()

  private sorted(of: (k: Kept) => boolean = () => true): Kept[] {
    return [...this.events.values()].filter(of).toSorted((a, b) => (a.id < b.id ? -1 : 1))
  }
  async ids() {
    return [...this.events.keys()]
  }
  async ofTrip(trip: string) {
    return this.sorted(k => k.trip === trip || k.trip === '')
  }
  async ofKind(kind: string) {
    return this.sorted(k => k.kind === kind)
  }
  async all() {
    return this.sorted()
  }
  async waiting(most?: number) {
    return this.sorted(k => k.waiting === 1).slice(0, most)
  }
  async countWaiting() {
    return this.sorted(k => k.waiting === 1).length
  }
  async put(items: readonly Kept[]) {
    for (const k of items) this.events.set(k.id, k)
  }
  async get(name: Meta) {
    return this.meta.get(name)
  }
  async set(name: Meta, value: unknown) {
    this.meta.set(name, value)
  }
}

interface Schema extends DBSchema {
  events: { key: string; value: Kept; indexes: { trip: string; kind: string; waiting: number } }
  meta: { key: string; value: unknown }
}

class IndexedStore implements Store {
  constructor(private readonly db: IDBPDatabase<Schema>) {}
  ids() {
    return this.db.getAllKeys('events')
  }
  async ofTrip(trip: string) {
    const mine = await this.db.getAllFromIndex('events', 'trip', trip)
    return trip === '' ? mine : [...(await this.db.getAllFromIndex('events', 'trip', '')), ...mine]
  }
  ofKind(kind: string) {
    return this.db.getAllFromIndex('events', 'kind', kind)
  }
  all() {
    return this.db.getAll('events')
  }
  waiting(most?: number) {
    return this.db.getAllFromIndex('events', 'waiting', 1, most)
  }
  countWaiting() {
    return this.db.countFromIndex('events', 'waiting', 1)
  }
  async put(items: readonly Kept[]) {
    const tx = this.db.transaction('events', 'readwrite', { durability: 'strict' })
    for (const k of items) void tx.store.put(k).catch(() => {})
    await tx.done
  }
  get(name: Meta) {
    return this.db.get('meta', name)
  }
  async set(name: Meta, value: unknown) {
    await this.db.put('meta', value, name)
  }
}

/** A store before which what it refused is held in memory, and tried again each time. */
export class HeldStore implements Store {
  private readonly held = new Map<string, Kept>()
  private readonly meta = new Map<Meta, unknown>()

  constructor(
    private readonly under: Store,
    private readonly told: (held: number) => void,
  ) {}

  private async over(list: Promise<Kept[]>, of: (k: Kept) => boolean): Promise<Kept[]> {
    const out = new Map((await list).map(k => [k.id, k]))
    for (const k of this.held.values()) {
      if (of(k)) out.set(k.id, k)
      else out.delete(k.id)
    }
    return [...out.values()].toSorted((a, b) => (a.id < b.id ? -1 : 1))
  }
  async ids() {
    return [...new Set([...(await this.under.ids()), ...this.held.keys()])]
  }
  ofTrip(trip: string) {
    return this.over(this.under.ofTrip(trip), k => k.trip === trip || k.trip === '')
  }
  ofKind(kind: string) {
    return this.over(this.under.ofKind(kind), k => k.kind === kind)
  }
  all() {
    return this.over(this.under.all(), () => true)
  }
  async waiting(most?: number) {
    const under = this.under.waiting(most === undefined ? undefined : most + this.held.size)
    return (await this.over(under, k => k.waiting === 1)).slice(0, most)
  }
  async countWaiting() {
    if (this.held.size === 0) return this.under.countWaiting()
    return (await this.waiting()).length
  }
  async put(items: readonly Kept[]) {
    for (const k of items) this.held.set(k.id, k)
    const trying = [...this.held.values()]
    try {
      await this.under.put(trying)
      for (const k of trying) if (this.held.get(k.id) === k) this.held.delete(k.id)
    } catch {
      // No room, or no leave: it stays held, and the person is told.
    }
    this.told(this.held.size)
  }
  async get(name: Meta) {
    return this.meta.has(name) ? this.meta.get(name) : this.under.get(name)
  }
  async set(name: Meta, value: unknown) {
    try {
      await this.under.set(name, value)
      this.meta.delete(name)
    } catch {
      this.meta.set(name, value)
    }
  }
}

/** Opens this device's store. Told says how many events are in memory alone; -1: all ever will be. */
export async function openStore(told: (held: number) => void): Promise<Store> {
  try {
    const db = await openDB<Schema>('sternfan-log', 1, {
      upgrade(db) {
        const events = db.createObjectStore('events', { keyPath: 'id' })
        events.createIndex('trip', 'trip')
        events.createIndex('kind', 'kind')
        events.createIndex('waiting', 'waiting')
        db.createObjectStore('meta')
      },
      // Another page with a newer version of the app must not wait for this one.
      blocking(_current, _blocked, event) {
        ;(event.target as IDBDatabase).close()
      },
    })
    return new HeldStore(new IndexedStore(db), told)
  } catch {
    told(-1)
    return new MemoryStore()
  }
}
