import { describe, expect, test } from 'vitest'
import type { LogEvent } from '../src/api'
import { changeTo, versionOf } from '../src/log/grow'
import { IDs, instant, timeOf, ulid } from '../src/log/ids'
import { partsOf } from '../src/log/joins'
import { HeldStore, type Kept, keptOf, MemoryStore } from '../src/log/store'
import { exchange, type Fetch } from '../src/log/sync'

test('a correction names what changes, and the version stands where a newer member is used', () => {
  expect(changeTo({ a: 1, b: [1], c: 'x' }, { a: 1, b: [2], d: 'y' })).toEqual({ b: [2], c: null, d: 'y' })
  expect(changeTo({ a: 1 }, { a: 1 })).toEqual({})
  expect(versionOf({ text: 'x' })).toBe(0)
  expect(versionOf({ line: { settings: { section_m: 45.72 } } })).toBe(2)
  expect(versionOf({ line: {} })).toBe(0)
  expect(versionOf({ of: 'x', to: 'landed', change: {} })).toBe(2)
})

describe('ids', () => {
  test('are the ULIDs of their specification', () => {
    // The time of the specification's own example; chance from nothing to everything.
    expect(ulid(1469918176385, new Uint8Array(10))).toBe('01ARYZ6S410000000000000000')
    expect(ulid(2 ** 48 - 1, new Uint8Array(10).fill(255))).toBe('7ZZZZZZZZZZZZZZZZZZZZZZZZZ')
    // Eighty bits in groups of five, the first bit first.
    expect(ulid(0, new Uint8Array([0b10000000, 0, 0, 0, 0, 0, 0, 0, 0, 1])).slice(10)).toBe(
      'G000000000000001',
    )
    expect(timeOf('01ARYZ6S410000000000000000')).toBe(1469918176385)
  })

  test('come after everything seen, whatever the clock shows, unless that is from the end of time', () => {
    const ids = new IDs()
    const first = ids.next(1000)
    expect(ids.next(1000) > first).toBe(true)
    const ahead = ulid(86_400_000, new Uint8Array(10).fill(255))
    ids.saw(ahead)
    expect(ids.next(2000) > ahead).toBe(true)
    ids.saw('7ZZZZZZZZZZZZZZZZZZZZZZZZZ')
    expect(timeOf(ids.next(3000))).toBe(3000)
  })

  test('moments carry their offset', () => {
    expect(instant(0, -240)).toBe('1969-12-31T20:00:00.000-04:00')
    expect(instant(1_783_159_923_120, 330)).toBe('2026-07-04T15:42:03.120+05:30')
  })
})

const event = (ms: number, text = 'x'): LogEvent => ({
  id: ulid(ms, new Uint8Array(10).fill(ms % 256)),
  at: instant(ms, 0),
  by: 'phone-a',
  kind: 'note',
  body: { text },
})

/** A boat's log as package web serves it, with what may go wrong. */
class Boat {
  events: LogEvent[] = []
  name = 'log-1'
  asks = 0
  fault: (ask: number) => 'ask lost' | 'answer lost' | 'full' | undefined = () => undefined
  refuses = new Set<string>()
  nameless = false // it cannot read the ids of those it refuses
  most = Infinity // characters of a batch
  readonly fetch: Fetch = async (address, init) => {
    const fault = this.fault(this.asks++)
    if (fault === 'ask lost') throw new TypeError('Failed to fetch')
    const url = new URL(address)
    const answer = (status: number, body: object) =>
      new Response(JSON.stringify(body), { status, headers: { 'content-type': 'application/json' } })
    let reply: Response
    if (init?.method === 'POST') {
      if (String(init.body).length > this.most)
        return answer(413, { log: this.name, now_ms: 5, acks: [], failed: 'too large' })
      const batch = String(init.body)
        .split('\n')
        .filter(Boolean)
        .map(l => JSON.parse(l) as LogEvent)
      if (fault === 'full')
        return answer(507, { log: this.name, now_ms: 5, acks: [], failed: 'no room left' })
      for (const e of batch) {
        if (!this.refuses.has(e.id) && !this.events.some(x => x.id === e.id)) this.events.push(e)
      }
      const acks = batch.map(e =>
        this.refuses.has(e.id)
          ? { id: this.nameless ? '' : e.id, kept: false, refused: 'no such kind' }
          : { id: e.id, kept: true },
      )
      reply = answer(200, { log: this.name, now_ms: 5, acks })
    } else {
      const after = Number(url.searchParams.get('after') ?? 0)
      const anew = after > this.events.length
      const page = anew ? [] : this.events.slice(after, after + 3)
      const next = anew ? 0 : after + page.length
      const more = anew ? this.events.length > 0 : next < this.events.length
      reply = answer(200, { log: this.name, now_ms: 5, events: page, next, more, anew })
    }
    if (fault === 'answer lost') throw new TypeError('Failed to fetch')
    return reply
  }
}

const base = 'http://boat/'
const swap = (store: MemoryStore | HeldStore, boat: Boat, news: LogEvent[] = []) =>
  exchange(
    store,
    boat.fetch,
    base,
    e => {
      news.push(...e)
    },
    () => 1,
  )

async function write(store: MemoryStore | HeldStore, ...events: LogEvent[]): Promise<void> {
  await store.put(events.map(e => keptOf(e, { waiting: 1 })))
}

describe('the exchange', () => {
  test('two devices and a boat, asks and answers lost: one log, nothing twice, nothing waiting', async () => {
    const boat = new Boat()
    // Every second ask or answer is lost, in turn.
    boat.fault = n => (n % 4 === 1 ? 'ask lost' : n % 4 === 3 ? 'answer lost' : undefined)
    const a = new MemoryStore()
    const b = new MemoryStore()
    for (let i = 0; i < 40; i++) {
      await write(i % 3 ? a : b, event(1000 + i))
      await swap(i % 2 ? a : b, boat)
    }
    boat.fault = () => undefined
    expect(await swap(a, boat)).toEqual({ state: 'joined', clock: 4 })
    await swap(b, boat)
    await swap(a, boat)
    const all = boat.events.map(e => e.id).toSorted()
    expect(all.length).toBe(40)
    for (const s of [a, b]) {
      expect((await s.ids()).toSorted()).toEqual(all)
      expect(await s.countWaiting()).toBe(0)
    }
  })

  test('a full disk keeps the queue, and says so; a refused entry holds up none of the others', async () => {
    const boat = new Boat()
    const a = new MemoryStore()
    const events = [event(1), event(2), event(3)]
    await write(a, ...events)
    boat.fault = () => 'full'
    expect(await swap(a, boat)).toEqual({ state: 'full', words: 'no room left' })
    expect(await a.countWaiting()).toBe(3)
    boat.fault = () => undefined
    boat.refuses.add(events[1]?.id ?? '')
    expect((await swap(a, boat)).state).toBe('joined')
    expect(await a.countWaiting()).toBe(0)
    expect((await a.all()).map(k => k.refused)).toEqual([undefined, 'no such kind', undefined])
    expect(boat.events.length).toBe(2)
  })

  test('what is refused without its id, and what no batch can carry, holds up none of the others', async () => {
    const boat = new Boat()
    const a = new MemoryStore()
    const events = [event(1), event(2), event(3)]
    await write(a, ...events)
    boat.nameless = true
    boat.refuses.add(events[1]?.id ?? '')
    expect((await swap(a, boat)).state).toBe('joined')
    expect(await a.countWaiting()).toBe(0)
    expect((await a.all()).map(k => k.refused)).toEqual([undefined, 'no such kind', undefined])
    boat.most = 4000
    await write(a, event(4, 'x'.repeat(5000)))
    expect((await swap(a, boat)).state).toBe('joined')
    await write(a, event(5))
    expect((await swap(a, boat)).state).toBe('joined')
    expect(await a.countWaiting()).toBe(0)
    expect((await a.all())[3]?.refused).toContain('too large')
    expect(boat.events.map(e => e.id)).toEqual([1, 3, 5].map(ms => event(ms).id))
  })

  test('what this app does not know goes through it unchanged', async () => {
    const boat = new Boat()
    const a = new MemoryStore()
    const b = new MemoryStore()
    const grown = {
      ...event(1),
      version: 9,
      moon: { phase: [0.5, null, ''], __proto__of: 'x' },
      kind: 'weighed',
      body: { scale: { kg: 1.5 }, 1: 'first' },
    } as unknown as LogEvent
    await write(a, grown)
    await swap(a, boat)
    await swap(b, boat)
    expect(JSON.stringify((await b.all())[0]?.event)).toBe(JSON.stringify(grown))
  })

  test('another log, or an older copy of it, gets everything anew', async () => {
    const boat = new Boat()
    const a = new MemoryStore()
    await write(a, event(1), event(2), event(3), event(4))
    await swap(a, boat)
    boat.events = boat.events.slice(0, 1)
    await swap(a, boat)
    expect(boat.events.length).toBe(4)
    const other = new Boat()
    other.name = 'log-2'
    other.events = [event(9)]
    const news: LogEvent[] = []
    await swap(a, other, news)
    expect(other.events.length).toBe(5)
    expect(news.map(e => e.id)).toEqual([event(9).id])
    expect(await a.countWaiting()).toBe(0)
  })

  test('nobody there, no log there, and a code to be entered again are told apart', async () => {
    const a = new MemoryStore()
    const status = (code: number) =>
      exchange(
        a,
        async () => new Response('', { status: code }),
        base,
        () => {},
      )
    expect((await status(404)).state).toBe('none')
    expect((await status(401)).state).toBe('unpaired')
    // A host of plain files that answers everything with its page.
    const page = async () => new Response('<!doctype html>', { headers: { 'content-type': 'text/html' } })
    expect((await exchange(a, page, base, () => {})).state).toBe('none')
    const away = async () => {
      throw new TypeError('Failed to fetch')
    }
    expect((await exchange(a, away, base, () => {})).state).toBe('away')
  })
})

/** A store on a device without room. */
class Full extends MemoryStore {
  room = 2
  override async put(items: readonly Kept[]) {
    const added = items.filter(k => !this.events.has(k.id)).length
    if (this.events.size + added > this.room) throw new DOMException('no room', 'QuotaExceededError')
    await super.put(items)
  }
  override async set() {
    throw new DOMException('no room', 'QuotaExceededError')
  }
}

test('without room on the device the queue is held in memory, told, handed on, and kept when there is room', async () => {
  const under = new Full()
  let held = 0
  const s = new HeldStore(under, n => {
    held = n
  })
  await write(s, event(1))
  await write(s, event(2))
  expect(held).toBe(0)
  await write(s, event(3))
  expect(held).toBe(1)
  expect((await s.all()).length).toBe(3)
  expect(await s.countWaiting()).toBe(3)
  await s.set('device', 'phone-a')
  expect(await s.get('device')).toBe('phone-a')
  const boat = new Boat()
  expect((await swap(s, boat)).state).toBe('joined')
  expect(boat.events.length).toBe(3)
  expect(await s.countWaiting()).toBe(0)
  under.room = 10
  await write(s, event(4))
  expect(held).toBe(0)
  expect((await under.all()).length).toBe(4)
})

describe('trips joined', () => {
  const begun = (ms: number): Kept => keptOf({ ...event(ms), kind: 'trip-begins', body: {} })
  const fix = (ms: number, body: object): Kept =>
    keptOf({ ...event(ms), kind: 'fix', body: body as { of: string } })
  const [a, b, c] = [begun(1), begun(2), begun(3)]

  test('end up in the last of a row', () => {
    const fixes = [fix(10, { of: c.id, trip: b.id }), fix(11, { of: b.id, trip: a.id })]
    const got = partsOf([a, b, c], fixes)
    expect(got.map(p => [p.trip, p.to]).toSorted()).toEqual([
      [b.id, a.id],
      [c.id, a.id],
    ])
    expect(got.find(p => p.trip === c.id)?.fix).toBe(fixes[0]?.id)
  })

  test('are parted by taking the joining back, and joined by taking that back', () => {
    const join = fix(10, { of: b.id, trip: a.id })
    const part = fix(11, { of: join.id, void: true })
    const after = fix(12, { of: part.id, void: true })
    expect(partsOf([a, b], [join, part])).toEqual([])
    expect(partsOf([a, b], [join, part, after]).length).toBe(1)
  })

  test('in a circle stay apart, and so does an event that begins no trip', () => {
    expect(partsOf([a, b], [fix(10, { of: b.id, trip: a.id }), fix(11, { of: a.id, trip: b.id })])).toEqual(
      [],
    )
    expect(partsOf([a], [fix(10, { of: b.id, trip: a.id })])).toEqual([])
  })
})
