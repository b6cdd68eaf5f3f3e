// Handing entries to the boat's log and fetching what others wrote. The two ends join as
// sets: whatever is lost on the way is sent again, and nothing comes twice.
import type { LogEvent } from '../api'
import { type Kept, keptOf, type Store } from './store'

/** How it stands with the boat's log. */
export type Link =
  | { state: 'none' } // this address keeps no log
  | { state: 'away' } // out of reach: later
  | { state: 'joined'; clock: number } // by how many ms the server's clock is ahead of ours
  | { state: 'unpaired' } // the pairing code is to be entered again
  | { state: 'full'; words: string } // no room on its disk: the queue stays here
  | { state: 'trouble'; words: string }

interface Taken {
  log: string
  now_ms: number
  acks: { id: string; kept: boolean; refused?: string }[]
  failed?: string
}

interface Page {
  log: string
  now_ms: number
  events: LogEvent[]
  next: number
  more: boolean
  anew: boolean
}

export type Fetch = (address: string, init?: RequestInit) => Promise<Response>

const batchEvents = 200
const batchBytes = 1 << 20
const rounds = 200 // of one exchange: more is left to the next

function linkOf(status: number, words: string): Link {
  if (status === 401) return { state: 'unpaired' }
  if (status === 404) return { state: 'none' }
  if (status === 507) return { state: 'full', words }
  return { state: 'trouble', words: words || `the boat's server answered ${status}` }
}

async function json<T>(reply: Response): Promise<T | undefined> {
  if (!reply.headers.get('content-type')?.includes('json')) return undefined
  return (await reply.json()) as T
}

/** One exchange: all that waits goes, then what is new comes. */
export async function exchange(
  store: Store,
  fetch: Fetch,
  base: string,
  fresh: (events: LogEvent[]) => void,
  now: () => number = Date.now,
): Promise<Link> {
  try {
    return (await push(store, fetch, base)) ?? (await pull(store, fetch, base, fresh, now))
  } catch (e) {
    // fetch says nothing but TypeError when nobody is there.
    if (e instanceof TypeError || (e instanceof DOMException && e.name === 'TimeoutError'))
      return { state: 'away' }
    return { state: 'trouble', words: e instanceof Error ? e.message : String(e) }
  }
}

async function push(store: Store, fetch: Fetch, base: string): Promise<Link | undefined> {
  for (let round = 0; round < rounds; round++) {
    const waiting = await store.waiting(batchEvents)
    if (waiting.length === 0) return undefined
    let body = ''
    const sent: Kept[] = []
    for (const k of waiting) {
      const line = `${JSON.stringify(k.event)}\n`
      if (sent.length > 0 && body.length + line.length > batchBytes) break
      body += line
      sent.push(k)
    }
    const reply = await fetch(`${base}log/events`, {
      method: 'POST',
      body,
      headers: { 'content-type': 'application/x-ndjson' },
    })
    const taken = await json<Taken>(reply)
    if (taken) await acknowledge(store, taken, sent)
    const alone = sent.length === 1 ? sent[0] : undefined
    if (reply.status === 413 && alone && !taken?.acks.length) {
      // No smaller batch would carry it, and what waits behind it is not to wait for ever.
      await store.put([without(alone, 'it is too large for the boat’s log')])
      continue
    }
    if (!reply.ok) return linkOf(reply.status, taken?.failed ?? (await said(reply)))
    if (!taken || taken.acks.length === 0)
      return { state: 'trouble', words: 'the boat’s server acknowledged nothing' }
  }
  return undefined
}

async function said(reply: Response): Promise<string> {
  if (reply.bodyUsed) return ''
  return (await reply.text()).trim().slice(0, 200)
}

/** An event that no longer waits; with a reason, one that was refused. */
function without(k: Kept, refused?: string): Kept {
  const { waiting: _, refused: __, ...rest } = k
  return refused === undefined ? rest : { ...rest, refused }
}

/** Notes what became of a batch. Acknowledgments are in its order: a refused event may not even have an id that can be read. */
async function acknowledge(store: Store, taken: Taken, sent: readonly Kept[]): Promise<void> {
  const done: Kept[] = []
  for (const [i, a] of taken.acks.entries()) {
    const k = sent[i]
    if (k) done.push(without(k, a.kept ? undefined : (a.refused ?? 'for no reason given')))
  }
  if (done.length > 0) await store.put(done)
}

async function pull(
  store: Store,
  fetch: Fetch,
  base: string,
  fresh: (events: LogEvent[]) => void,
  now: () => number,
): Promise<Link> {
  for (let round = 0; round < rounds; round++) {
    const after = await store.get('after')
    const query = typeof after === 'number' ? `?after=${after}` : ''
    const reply = await fetch(`${base}log/events${query}`, { cache: 'no-store' })
    const page = reply.ok ? await json<Page>(reply) : undefined
    if (!page) return reply.ok ? { state: 'none' } : linkOf(reply.status, await said(reply))
    const known = await store.get('log')
    if (page.anew || (known !== undefined && known !== page.log)) {
      // Another log, or an older copy of it: it gets all that this device has.
      await store.put((await store.all()).filter(k => !k.refused).map(k => ({ ...k, waiting: 1 })))
      await store.set('log', page.log)
      await store.set('after', page.anew ? 0 : undefined)
      const stopped = await push(store, fetch, base)
      if (stopped) return stopped
      continue
    }
    if (known === undefined) await store.set('log', page.log)
    const have = new Set(page.events.length > 0 ? await store.ids() : [])
    const news = page.events.filter(e => !have.has(e.id))
    if (news.length > 0) {
      await store.put(news.map(e => keptOf(e)))
      fresh(news)
    }
    await store.set('after', page.next)
    if (!page.more) return { state: 'joined', clock: page.now_ms - now() }
  }
  return { state: 'joined', clock: 0 }
}
