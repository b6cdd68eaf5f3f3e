// Engines in workers of their own: one answers while a finger drags, one works on what
// takes longer, from the same compiled core. What the core leaves out is asked of a third,
// the whole engine, which is loaded when it is first needed.
import * as Comlink from 'comlink'
import coreAddress from '../../engine/core.wasm?url'
import wholeAddress from '../../engine/sternfan.wasm?url'
import { type Fault, type Moved, type OpName, type Ops, type Progress, type Reply, WHOLE_OPS } from '../api'
import type { ReachAsk, Reached } from './reach'
import type { Service } from './worker'

/** Faults in what was given, in words for a person. */
export class FaultError extends Error {
  constructor(readonly faults: Fault[]) {
    super(faults.map(f => f.text).join('; '))
  }
}

export class Canceled extends Error {}

interface Worked {
  service: Comlink.Remote<Service>
  module: WebAssembly.Module
}

function startWorker(from: string | WebAssembly.Module): Promise<Worked> {
  const worker = new Worker(new URL('./worker.ts', import.meta.url), { type: 'module' })
  const service = Comlink.wrap<Service>(worker)
  return new Promise((resolve, reject) => {
    worker.addEventListener('error', e => reject(new Error(e.message || 'the engine could not be started')))
    service.start(from).then(module => resolve({ service, module }), reject)
  })
}

let quick: Promise<Worked> | undefined
let deep: Promise<Worked> | undefined
let whole: Promise<Worked> | undefined

/** The engine that answers at once. */
function quickEngine(): Promise<Worked> {
  quick ??= startWorker(new URL(coreAddress, location.href).href)
  return quick
}

/** The engine for what takes longer. */
function deepEngine(): Promise<Worked> {
  deep ??= quickEngine().then(w => startWorker(w.module))
  return deep
}

/** The engine that has every operation. */
function wholeEngine(): Promise<Worked> {
  whole ??= startWorker(new URL(wholeAddress, location.href).href)
  // Without a signal it may come later: the next call tries anew.
  whole.catch(() => {
    whole = undefined
  })
  return whole
}

function unpack<A>(reply: Reply<A>): A {
  if (reply.faults) throw new FaultError(reply.faults)
  if (reply.failed !== undefined) {
    if (reply.failed === 'canceled') throw new Canceled(reply.failed)
    throw new Error(reply.failed)
  }
  return reply.answer as A
}

/** Asks the quick engine. */
export async function ask<O extends OpName>(op: O, request: Ops[O]['ask']): Promise<Ops[O]['answer']> {
  const { service } = await quickEngine()
  const raw = await service.now(op, JSON.stringify(request))
  const answer = unpack(JSON.parse(raw.json) as Reply<Ops[O]['answer']>)
  if (raw.points) (answer as Moved).points = raw.points
  return answer
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
    const raw = await service.ask(id, op, JSON.stringify(request), heard)
    return unpack(JSON.parse(raw.json) as Reply<Ops[O]['answer']>)
  } finally {
    signal?.removeEventListener('abort', cancel)
  }
}
