// Engines in workers of their own: one answers while a finger drags, one works on what
// takes longer, from the same compiled core. What the core leaves out is asked of a third,
// the whole engine, which is loaded when it is first needed.
import * as Comlink from 'comlink'
import coreAddress from '../../engine/core.wasm?url'
import wholeAddress from '../../engine/sternfan.wasm?url'
import { type Fault, type OpName, type Ops, type Progress, type Reply, WHOLE_OPS } from '../api'
import type { ReachAsk, Reached } from './reach'
import type { Raw, Service } from './worker'

/** Faults in what was given, in words for a person. */
export class FaultError extends Error {
  constructor(readonly faults: Fault[]) {
    super(faults.map(f => f.text).join('; '))
  }
}

export class Canceled extends Error {}

/** One engine at work; in an object, since a remote would pass for a promise. */
interface Engine {
  service: Comlink.Remote<Service>
}

/** Compiles while the bytes arrive where the server names their type, else after. */
async function compile(address: string): Promise<WebAssembly.Module> {
  const reply = await fetch(new URL(address, location.href))
  if (!reply.ok) throw new Error(`the engine could not be loaded (${reply.status})`)
  if (reply.headers.get('content-type')?.startsWith('application/wasm')) {
    return WebAssembly.compileStreaming(reply)
  }
  return WebAssembly.compile(await reply.arrayBuffer())
}

/** Starts a worker with an engine; the worker loads while the engine is compiled. */
function startWorker(engine: Promise<WebAssembly.Module>): Promise<Engine> {
  const worker = new Worker(new URL('./worker.ts', import.meta.url), { type: 'module' })
  const service = Comlink.wrap<Service>(worker)
  return new Promise((resolve, reject) => {
    worker.addEventListener('error', e => reject(new Error(e.message || 'the engine could not be started')))
    engine.then(module => service.start(module)).then(() => resolve({ service }), reject)
  })
}

let core: Promise<WebAssembly.Module> | undefined
let quick: Promise<Engine> | undefined
let deep: Promise<Engine> | undefined
let whole: Promise<Engine> | undefined

/** The engine that answers at once. Calling it early lets it load while the page is made. */
export function quickEngine(): Promise<Engine> {
  core ??= compile(coreAddress)
  quick ??= startWorker(core)
  return quick
}

/** The engine for what takes longer. */
function deepEngine(): Promise<Engine> {
  // Not before the quick one runs: both would be slower to start.
  deep ??= quickEngine().then(() => startWorker(core as Promise<WebAssembly.Module>))
  return deep
}

/** The engine that has every operation. Calling it early lets it load before it is asked. */
export function wholeEngine(): Promise<Engine> {
  whole ??= startWorker(compile(wholeAddress))
  // Without a signal it may come later: the next call tries anew.
  whole.catch(() => {
    whole = undefined
  })
  return whole
}

function unpack<A>(raw: Raw): A {
  const reply = JSON.parse(raw.json) as Reply<A>
  if (reply.faults) throw new FaultError(reply.faults)
  if (reply.failed !== undefined) {
    if (reply.failed === 'canceled') throw new Canceled(reply.failed)
    throw new Error(reply.failed)
  }
  const answer = reply.answer as A
  if (raw.points) (answer as { points?: ArrayLike<number> }).points = raw.points
  return answer
}

/** Asks the quick engine. */
export async function ask<O extends OpName>(op: O, request: Ops[O]['ask']): Promise<Ops[O]['answer']> {
  const { service } = await quickEngine()
  return unpack(await service.now(op, JSON.stringify(request)))
}

export async function askReach(request: ReachAsk): Promise<Reached> {
  const { service } = await quickEngine()
  return service.reach(request)
}

let nextID = 1

/** Asks the engine for long work; the signal ends it early. */
export async function askLong<O extends OpName>(
  op: O,
  request: Ops[O]['ask'],
  progress: (p: Progress) => void = () => {},
  signal?: AbortSignal,
): Promise<Ops[O]['answer']> {
  const { service } = await (WHOLE_OPS.includes(op) ? wholeEngine() : deepEngine())
  const id = nextID++
  const cancel = () => void service.cancel(id)
  signal?.addEventListener('abort', cancel)
  try {
    const heard = Comlink.proxy((json: string) => progress(JSON.parse(json) as Progress))
    return unpack(await service.ask(id, op, JSON.stringify(request), heard))
  } finally {
    signal?.removeEventListener('abort', cancel)
  }
}
