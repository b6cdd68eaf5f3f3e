// The scenario that is open. Its text is the single truth; everything else follows from it.
import { batch, computed, signal } from '@preact/signals'
import type { Change, Drawing, Fault, FormValue, GearKind, RodName, Spread } from '../api'
import { ask, askLong, askReach, Canceled, FaultError } from '../engine/client'
import { type Knob, snap, write } from '../engine/reach'
import { History } from './history'
import { nearestPair } from './nearest'
import { settings, store } from './settings'
import { keepSame, keyOf, type Line, linesOf, withMoved } from './tracks'

const key = 'sternfan.text'

export const text = signal<string | null>(null)
/** Changes on trial that the text does not hold yet: path to value. */
export const trial = signal<ReadonlyMap<string, string>>(new Map())
export const form = signal<FormValue>(null)
export const rods = signal<RodName[]>([])
export const note = signal('')
export const gear = signal<GearKind[]>([])
export const lines = signal<Line[]>([])
/** What the solved spread says beside its lines. */
export const solved = signal<Spread | null>(null)
export const plan = signal<Drawing | null>(null)
export const faults = signal<Fault[]>([])
/** What went wrong, in words; empty when nothing did. */
export const trouble = signal('')
/** What was just done, said aloud to a screen reader. */
export const said = signal('')
/** What the last step of many did, until the next one. */
export const notice = signal('')
export const working = signal(false)
export const selected = signal<string | null>(null)
export const holding = signal(false) // a finger drags: scales stand still
export const undoes = signal<string | undefined>(undefined)
export const redoes = signal<string | undefined>(undefined)
export const unsaved = signal(false)

export const near = computed(() => nearestPair(lines.value))
export const selectedLine = computed(() => lines.value.find(l => l.id === selected.value) ?? null)
export const isDemo = computed(() => /demo|invented|made[ -]up/i.test(note.value))

const history = new History()
let serial = 0 // of the state that answers belong to
let settling: AbortController | undefined

function set(): string[] {
  return [...trial.value].map(([path, value]) => `${path}=${value}`)
}

function given() {
  return { text: text.value ?? '', set: set(), units: settings.value.units }
}

function noteHistory() {
  undoes.value = history.undoes
  redoes.value = history.redoes
}

function fail(e: unknown) {
  if (e instanceof Canceled) return
  if (e instanceof FaultError) {
    const f = e.faults[0]
    trouble.value = f ? faultWords(f) : 'The file has a fault.'
    return
  }
  trouble.value = e instanceof Error ? e.message : String(e)
}

/** A fault as one sentence with its next step. */
export function faultWords(f: Fault): string {
  let s = f.text
  if (f.found) s += `, found ${f.found}`
  if (f.allowed?.length) s += `, allowed ${f.allowed.slice(0, 8).join(', ')}`
  if (f.hint) s += `; ${f.hint}`
  return `${s.charAt(0).toUpperCase()}${s.slice(1)}.`
}

function keep() {
  unsaved.value = !store.set(key, text.value)
}

/** Takes up what this device had open last. */
export function resume(): boolean {
  const kept = store.get(key)
  if (kept) void open(kept, '')
  return kept !== null
}

/** Opens a text. What was open before can be had back by undo. */
export async function open(next: string, what: string): Promise<void> {
  if (text.value !== null && what) history.left(text.value, what, '', Date.now())
  batch(() => {
    text.value = next
    trial.value = new Map()
    selected.value = null
  })
  noteHistory()
  keep()
  await refresh()
}

/** Puts the open scenario away; the start shows again, and undo brings it back. */
export function close(): void {
  if (text.value !== null) history.left(text.value, 'put away', '', Date.now())
  batch(() => {
    text.value = null
    trial.value = new Map()
    lines.value = []
    solved.value = null
    plan.value = null
    form.value = null
    selected.value = null
    trouble.value = ''
    faults.value = []
  })
  noteHistory()
  keep()
}

/** Reads the text anew and solves all of it: first without intervals, then with them. */
export async function refresh(): Promise<void> {
  const mine = ++serial
  if (text.value === null) return
  working.value = true
  try {
    const bare = { text: text.value, units: settings.value.units }
    // First what is wrong: a file that cannot be read has no form either.
    const checked = await ask('check', bare)
    if (mine !== serial) return
    faults.value = checked.faults
    if (checked.faults.length > 0) {
      batch(() => {
        trouble.value = ''
        lines.value = []
        solved.value = null
        plan.value = null
        form.value = null
      })
      return
    }
    const [formed, gears] = await Promise.all([ask('form', bare), ask('gear', { text: text.value })])
    if (mine !== serial) return
    batch(() => {
      form.value = formed.file
      rods.value = checked.rods
      note.value = checked.note
      gear.value = gears.kinds
      trouble.value = ''
    })
    take(mine, await ask('spread', { ...given(), fan: true, plan: true }), true)
    await settle(mine)
  } catch (e) {
    if (mine === serial) fail(e)
  } finally {
    if (mine === serial) working.value = false
  }
}

/** Makes an answer what is shown, unless something newer has been asked since. */
function take(mine: number, answer: Spread, pending: boolean) {
  if (mine !== serial) return
  const next = linesOf(answer).map(l => (pending ? { ...l, pending } : l))
  batch(() => {
    lines.value = keepSame(lines.value, next)
    solved.value = answer
    if (answer.plan) plan.value = answer.plan
    trouble.value = ''
  })
}

/** Asks for the intervals, after what was asked before has been called off. */
async function settle(mine: number): Promise<void> {
  settling?.abort()
  const mineToEnd = new AbortController()
  settling = mineToEnd
  const answer = await askLong(
    'spread',
    { ...given(), intervals: true, fan: true, plan: true, gaps: true },
    undefined,
    mineToEnd.signal,
  )
  take(mine, answer, false)
}

/** Redraws at once after a change of the trial, with intervals to follow. */
async function redraw(): Promise<void> {
  const mine = ++serial
  working.value = true
  try {
    const moved = await ask('move', given())
    if (mine !== serial) return
    const byKey = new Map(moved.tracks.map(track => [keyOf(track), { track, points: moved.points ?? [] }]))
    lines.value = withMoved(lines.value, byKey)
    if (!holding.value) await settle(mine)
  } catch (e) {
    if (mine === serial) fail(e)
  } finally {
    if (mine === serial) working.value = false
  }
}

let pendingCommit: ReturnType<typeof setTimeout> | undefined
let trialWords = ''

/** Tries a value: drawn at once, in the file as soon as the hand rests. */
export function nudge(path: string, value: string, what: string): void {
  // Each key of trial is one step of undo: another key first puts the last one away.
  if (trial.value.size > 0 && !trial.value.has(path)) void commit()
  trial.value = new Map(trial.value).set(path, value)
  trialWords = what
  trouble.value = ''
  clearTimeout(pendingCommit)
  pendingCommit = setTimeout(() => void commit(), 400)
  void redraw()
}

/** Writes what is on trial into the file. */
export async function commit(): Promise<void> {
  clearTimeout(pendingCommit)
  if (trial.value.size === 0) return
  const changes = [...trial.value].map(([path, value]): Change => ({ do: 'set', path, value }))
  const words = trialWords
  await edit(changes, words, changes.map(c => c.path).join())
}

let editing: Promise<unknown> = Promise.resolve()

/**
 * Edits the file and shows what comes of it. Edits wait for one another. The answer is
 * whether the file took it; why not is in trouble.
 */
export function edit(changes: Change[], what: string, joinKey = '', loose = false): Promise<boolean> {
  const mine = editing.then(async () => {
    const was = text.value
    if (was === null) return false
    try {
      const { text: next } = await ask('edit', { text: was, changes, loose })
      const sets = new Map(trial.value)
      for (const c of changes) if (c.value === sets.get(c.path)) sets.delete(c.path)
      if (next === was) {
        trial.value = sets
        return true
      }
      history.left(was, what, joinKey, Date.now())
      batch(() => {
        text.value = next
        trial.value = sets
        said.value = what
        trouble.value = ''
      })
      noteHistory()
      keep()
      await reread(changes)
      return true
    } catch (e) {
      fail(e)
      // What was tried is not so: the lines go back to where the file has them.
      if (trial.value.size > 0) {
        trial.value = new Map()
        void redraw()
      }
      return false
    }
  })
  editing = mine.catch(() => {})
  return mine
}

/** After an edit of plain settings the lines only move; anything else is read anew. */
async function reread(changes: Change[]): Promise<void> {
  const plainSettings = changes.every(
    c =>
      c.do === 'set' &&
      (/^rods\.[^.]+\.settings\./.test(c.path) || /^downriggers\.[^.]+\.cable_out$/.test(c.path)),
  )
  if (!plainSettings || lines.value.length === 0) return refresh()
  const { file } = await ask('form', { text: text.value ?? '' })
  form.value = file
  void redraw()
}

async function travel(step: { text: string; what: string } | undefined, verb: string): Promise<void> {
  if (!step) return
  batch(() => {
    text.value = step.text
    trial.value = new Map()
    said.value = `${verb}: ${step.what}`
  })
  noteHistory()
  keep()
  await refresh()
}

export async function undo(): Promise<void> {
  await commit()
  await travel(history.undo(text.value ?? ''), 'Undone')
}

export async function redo(): Promise<void> {
  await commit()
  await travel(history.redo(text.value ?? ''), 'Redone')
}

/** A lure that follows a finger: how its setting is found from frame to frame. */
export class Drag {
  private knob: Knob
  private slope = 0
  private depth: number
  private busy = false
  private wanted: number | undefined
  private ended = false
  private steps = 0 // since the finger last moved

  constructor(
    private readonly line: Line,
    private readonly lure: string,
    knob: Knob,
    private readonly words: (value: string) => string,
  ) {
    this.knob = knob
    this.depth = line.state.lures.find(l => l.id === lure)?.depth_m ?? 0
    holding.value = true
  }

  /** Asks for a depth; while one is being found only the last one asked for is kept. */
  to(depth: number): void {
    this.wanted = depth
    this.steps = 0
    if (!this.busy) void this.follow()
  }

  private async follow(): Promise<void> {
    this.busy = true
    try {
      while (this.wanted !== undefined) {
        const depth = this.wanted
        this.wanted = undefined
        const mine = ++serial
        const start = performance.now()
        const others = [...trial.value].filter(([path]) => path !== this.knob.path)
        const got = await askReach({
          given: {
            text: text.value ?? '',
            set: others.map(([p, v]) => `${p}=${v}`),
            units: settings.value.units,
          },
          knob: this.knob,
          rod: this.line.state.rod,
          lure: this.lure,
          depth,
          now: this.depth,
          slope: this.slope,
          // One solve a frame while the finger moves, more when it has come to rest.
          most: this.slope === 0 || this.ended ? 3 : 1,
        })
        this.depth = got.depth
        this.slope = got.slope
        const moved = Math.abs(got.value - this.knob.value) >= this.knob.step / 2
        this.knob = { ...this.knob, value: got.value }
        // Not there yet, and nothing newer asked: go on from here.
        if (this.wanted === undefined && moved && this.steps++ < 8) this.wanted = depth
        if (mine !== serial) continue
        batch(() => {
          if (moved || trial.value.has(this.knob.path)) {
            trial.value = new Map(trial.value).set(
              this.knob.path,
              write(this.knob, snap(this.knob, got.value)),
            )
          }
          lines.value = withMoved(lines.value, got.moved)
        })
        performance.measure('drag', { start }) // read by the bench
      }
    } catch (e) {
      fail(e)
    }
    this.busy = false
    if (this.ended) this.finish()
  }

  end(): void {
    this.ended = true
    if (!this.busy) this.finish()
  }

  private finish(): void {
    holding.value = false
    const value = trial.value.get(this.knob.path)
    if (value === undefined) return
    trialWords = this.words(value)
    void commit()
  }
}
