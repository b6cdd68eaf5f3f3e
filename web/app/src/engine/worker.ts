// The engine in a worker: the Go core as WebAssembly, asked in JSON.
import '../../engine/wasm_exec.js'
import * as Comlink from 'comlink'
import type { Moved, Reply } from '../api'
import { type ReachAsk, type Reached, reach } from './reach'

interface Raw {
  json: string
  points?: Float32Array
}

interface Core {
  now(op: string, ask: string): Raw
  call(op: string, ask: string, progress: (json: string) => void, signal: { aborted: boolean }): Promise<Raw>
}

declare const Go: new () => {
  importObject: WebAssembly.Imports
  run(instance: WebAssembly.Instance): Promise<void>
}

const core = () => (globalThis as unknown as { sternfan: Core }).sternfan
const signals = new Map<number, { aborted: boolean }>()

/** Compiles while the bytes arrive where the server names their type, else after. */
async function compile(url: string): Promise<WebAssembly.Module> {
  const reply = await fetch(url)
  if (!reply.ok) throw new Error(`the engine could not be loaded (${reply.status})`)
  if (reply.headers.get('content-type')?.startsWith('application/wasm')) {
    return WebAssembly.compileStreaming(reply)
  }
  return WebAssembly.compile(await reply.arrayBuffer())
}

function withPoints(raw: Raw): Reply<Moved> {
  const reply = JSON.parse(raw.json) as Reply<Moved>
  if (reply.answer && raw.points) reply.answer.points = raw.points
  return reply
}

const service = {
  /** Starts from an address or from what another worker compiled, which it returns. */
  async start(from: string | WebAssembly.Module): Promise<WebAssembly.Module> {
    const module = typeof from === 'string' ? await compile(from) : from
    const go = new Go()
    void go.run(await WebAssembly.instantiate(module, go.importObject))
    return module
  },

  async ask(id: number, op: string, ask: string, progress: (json: string) => void): Promise<Raw> {
    const signal = { aborted: false }
    signals.set(id, signal)
    try {
      return await core().call(op, ask, progress, signal)
    } finally {
      signals.delete(id)
    }
  },

  cancel(id: number): void {
    const signal = signals.get(id)
    if (signal) signal.aborted = true
  },

  now(op: string, ask: string): Raw {
    const raw = core().now(op, ask)
    return raw.points ? Comlink.transfer(raw, [raw.points.buffer]) : raw
  },

  /** Finds the count at which a lure is at a depth, with what moved on the way there. */
  reach(ask: ReachAsk): Reached {
    return reach(ask, given => withPoints(core().now('move', JSON.stringify(given))))
  },
}

export type Service = typeof service
Comlink.expose(service)
