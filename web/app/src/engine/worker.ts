// The engine in a worker: the Go core as WebAssembly, asked in JSON.
import '../../engine/wasm_exec.js'
import * as Comlink from 'comlink'
import type { Given, Moved, Reply } from '../api'
import { type ReachAsk, type Reached, reach } from './reach'

export interface Raw {
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

function withPoints(raw: Raw): Reply<Moved> {
  const reply = JSON.parse(raw.json) as Reply<Moved>
  if (reply.answer && raw.points) reply.answer.points = raw.points
  return reply
}

const move = (given: Given) => withPoints(core().now('move', JSON.stringify(given)))

let held = '' // the text that the engine was given last with a name
let name = 0

/** Gives the points away instead of copying them. */
function handOver(raw: Raw): Raw {
  return raw.points ? Comlink.transfer(raw, [raw.points.buffer]) : raw
}

const service = {
  async start(module: WebAssembly.Module): Promise<void> {
    const go = new Go()
    void go.run(await WebAssembly.instantiate(module, go.importObject))
  },

  async ask(id: number, op: string, ask: string, progress: (json: string) => void): Promise<Raw> {
    const signal = { aborted: false }
    signals.set(id, signal)
    try {
      return handOver(await core().call(op, ask, progress, signal))
    } finally {
      signals.delete(id)
    }
  },

  cancel(id: number): void {
    const signal = signals.get(id)
    if (signal) signal.aborted = true
  },

  now(op: string, ask: string): Raw {
    return handOver(core().now(op, ask))
  },

  /** Finds the count at which a lure is at a depth, with what moved on the way there. */
  reach(ask: ReachAsk): Reached {
    return reach(ask, given => {
      const { text } = given
      if (text !== held) name++
      const as = String(name)
      // The text goes to the engine once, and after that its name.
      const reply = text === held ? move({ ...given, text: '', as }) : undefined
      held = text
      return reply?.answer || reply?.faults ? reply : move({ ...given, as })
    })
  },
}

export type Service = typeof service
Comlink.expose(service)
