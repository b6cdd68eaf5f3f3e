// The scenario that is open. Its text is the single truth; everything else follows from it.
import { batch, computed, signal } from '@preact/signals'
import type { Checked, Drawing, Edit, Fault, FormValue, GearKind, RodName, Spread } from '../api'
import { ask, askLong, askReach, Canceled, FaultError } from '../engine/client'
import { type Knob, snap, write as written } from '../engine/reach'
import { pathOf, setting, taking } from './edits'
import { settingAt } from './form'
import { History } from './history'
import { settings, store } from './settings'
import { keepSame, keyOf, type Line, linesOf, withMoved } from './tracks'

const key = 'sternfan.text'

export const text = signal<string | null>(null)
/** What is on trial and the text does not hold yet: path to value. */
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
export const selected = signal<string | null>(null)
export const holding = signal(false) // a finger drags: scales stand still
export const undoes = signal<string | undefined>(undefined)
export const redoes = signal<string | undefined>(undefined)
export const unsaved = signal(false)

const solving = signal(false)
const writing = signal(0) // edits of the file that are not through yet
/** Something is still being worked out or written: what is shown is not the last word. */
export const working = computed(
  () => solving.value || writing.value > 0 || (trial.value.size > 0 && !holding.value),
)

/** What the verdict says, worst first; nothing while lines move. */
export const findings = computed(() =>
  lines.value.some(l => l.pending) ? [] : (solved.value?.verdict.findings ?? []),
)
/** The worst trouble that has a place: it is ringed. */
export const ringed = computed(() => findings.value.find(f => f.places && f.grade !== 'worth-knowing'))
export const selectedLine = computed(() => lines.value.find(l => l.id === selected.value) ?? null)
export const isDemo = computed(() => /demo|invented|made[ -]up/i.test(note.value))

const history = new History()
let serial = 0 // of the state that answers belong to
let opened = 0 // grows when another text is taken up as a whole
let settling: AbortController | undefined

function given() {
  return { text: text.value ?? '', edits: setting(form.value, trial.value), units: settings.value.units }
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
  opened++
  clearTimeout(pendingCommit)
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
  opened++
  serial++
  clearTimeout(pendingCommit)
  settling?.abort()
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
    solving.value = false
  })
  noteHistory()
  keep()
}

/** What a text says beside where its lines run. */
interface Reading {
  checked?: Checked
  file?: FormValue
  kinds?: GearKind[]
}

/** Reads a text: only what its settings are, or all of it. */
async function read(of: string, settingsOnly = false): Promise<Reading> {
  if (settingsOnly) return { file: (await ask('form', { text: of })).file }
  const [checked, form, gear] = await Promise.allSettled([
    ask('check', { text: of, units: settings.value.units }),
    ask('form', { text: of }),
    ask('gear', { text: of }),
  ])
  if (checked.status === 'rejected') throw checked.reason
  // What is wrong comes first: a file that cannot be read has no form either.
  if (checked.value.faults.length > 0) return { checked: checked.value }
  if (form.status === 'rejected') throw form.reason
  if (gear.status === 'rejected') throw gear.reason
  return { checked: checked.value, file: form.value.file, kinds: gear.value.kinds }
}

function takeReading(r: Reading): void {
  if (r.checked) {
    faults.value = r.checked.faults
    trouble.value = ''
    if (r.checked.faults.length > 0) {
      lines.value = []
      solved.value = null
      plan.value = null
      form.value = null
      return
    }
    rods.value = r.checked.rods
    note.value = r.checked.note
  }
  if (r.file !== undefined) form.value = r.file
  if (r.kinds) gear.value = r.kinds
}

/** Reads the text anew and solves all of it. */
export async function refresh(): Promise<void> {
  const of = text.value
  if (of === null) return
  const mine = ++serial
  const within = opened
  solving.value = true
  // Asked in one go: the engine answers in this order, and waits for nobody in between.
  const asked = read(of)
  const first = ask('spread', drawn())
  first.catch(() => {}) // a faulty file has no spread
  try {
    const reading = await asked
    if (text.value !== of) {
      // The text was changed meanwhile and is read by itself; what moved is told since this.
      if (within === opened) take(await first, true)
      return
    }
    batch(() => takeReading(reading))
  } catch (e) {
    if (mine === serial) fail(e)
    return
  } finally {
    if (mine === serial) solving.value = false
  }
  await solve(first)
}

/** What is asked to draw all lines. */
function drawn() {
  return { ...given(), curves: true, boat: true }
}

/** Solves all of the text: first without intervals, then with them. */
async function solve(first = ask('spread', drawn())): Promise<void> {
  const mine = ++serial
  if (faults.value.length > 0) {
    solving.value = false
    return
  }
  const within = opened
  solving.value = true
  try {
    const answer = await first
    // The engine tells later what moved since this: so it is shown though a newer one is asked.
    if (within === opened) take(answer, true)
    if (mine === serial) await settle(mine)
  } catch (e) {
    if (mine === serial) fail(e)
  } finally {
    if (mine === serial) solving.value = false
  }
}

/** Makes an answer what is shown. */
function take(answer: Spread, pending: boolean) {
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
  const answer = await askLong('spread', { ...drawn(), intervals: true }, undefined, mineToEnd.signal)
  if (mine === serial) take(answer, false)
}

/** Redraws at once after a change of the trial, with intervals to follow. */
async function redraw(): Promise<void> {
  const mine = ++serial
  const within = opened
  solving.value = true
  try {
    const moved = await ask('move', given())
    if (within === opened) {
      const byKey = new Map(moved.tracks.map(track => [keyOf(track), { track, points: moved.points ?? [] }]))
      lines.value = withMoved(lines.value, byKey)
    }
    if (mine === serial && !holding.value) await settle(mine)
  } catch (e) {
    if (mine === serial) fail(e)
  } finally {
    if (mine === serial) solving.value = false
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

/** Writes what is on trial into the file, after what was written before it. */
export function commit(): Promise<void> {
  clearTimeout(pendingCommit)
  const tried = [...trial.value]
  const words = trialWords
  return inTurn(async () => {
    // What the hand has moved on from meanwhile is not written.
    const still = tried.filter(([path, value]) => trial.value.get(path) === value)
    const edits = setting(form.value, still)
    if (edits.length > 0) await write(edits, words, still.map(([path]) => path).join(), false, still)
  })
}

let turns: Promise<unknown> = Promise.resolve()

/** Does what changes the text, one thing after another. */
function inTurn<T>(work: () => Promise<T>): Promise<T> {
  writing.value++
  const mine = turns.then(work).finally(() => writing.value--)
  turns = mine.catch(() => {})
  return mine
}

/**
 * Edits the file and shows what comes of it. Edits wait for one another. The answer is
 * whether the file took it; why not is in trouble.
 */
export function edit(edits: Edit[], what: string, joinKey = '', loose = false): Promise<boolean> {
  return inTurn(() => write(edits, what, joinKey, loose))
}

/** Gives what a path leads to a value. */
export function put(path: string, value: FormValue, what: string, joinKey = ''): Promise<boolean> {
  return edit(setting(form.value, [[path, value]]), what, joinKey)
}

/** Takes away what a path leads to. */
export function remove(path: string, what: string): Promise<boolean> {
  return edit([taking(form.value, path)], what)
}

async function write(
  edits: Edit[],
  what: string,
  joinKey: string,
  loose: boolean,
  tried = edits.map(e => [pathOf(e), e.value ?? ''] as const),
): Promise<boolean> {
  const was = text.value
  if (was === null) return false
  try {
    const { text: next } = await ask('edit', { text: was, edits, loose })
    if (next === was) {
      forget(tried)
      settleAgain()
      return true
    }
    // What is shown of the text changes with it: until then the trial stands for it.
    const settingsOnly = plainSettings(edits) && lines.value.length > 0
    const reading = await read(next, settingsOnly)
    if (text.value !== was) return false // another was opened meanwhile
    history.left(was, what, joinKey, Date.now())
    batch(() => {
      text.value = next
      forget(tried)
      said.value = what
      trouble.value = ''
      takeReading(reading)
    })
    noteHistory()
    keep()
    void (settingsOnly ? redraw() : solve())
    return true
  } catch (e) {
    if (text.value !== was) return false
    fail(e)
    // What was tried is not so: the lines go back to where the file has them.
    if (forget(tried)) void redraw()
    return false
  }
}

/** Asks for the intervals of lines that moved and came back. */
function settleAgain(): void {
  if (!solving.value && lines.value.some(l => l.pending)) void redraw()
}

/** Takes off the trial what was written, and nothing that was tried since. */
function forget(tried: readonly (readonly [string, string])[]): boolean {
  const left = new Map(trial.value)
  for (const [path, value] of tried) if (value === left.get(path)) left.delete(path)
  if (left.size === trial.value.size) return false
  trial.value = left
  return true
}

/** After an edit of plain settings the lines only move; anything else is read anew. */
function plainSettings(edits: Edit[]): boolean {
  return edits.every(e => !e.do && settingAt(pathOf(e)) !== undefined)
}

/** Goes to another text of the history. What is tried since stays on trial. */
function travel(to: () => ReturnType<History['undo']>, verb: string): Promise<void> {
  void commit()
  return inTurn(async () => {
    const was = text.value
    const step = to()
    if (!step) return
    try {
      const reading = await read(step.text)
      if (text.value !== was) return
      opened++
      batch(() => {
        text.value = step.text
        said.value = `${verb}: ${step.what}`
        takeReading(reading)
      })
      noteHistory()
      keep()
      void solve()
    } catch (e) {
      fail(e)
    }
  })
}

export function undo(): Promise<void> {
  return travel(() => history.undo(text.value ?? ''), 'Undone')
}

export function redo(): Promise<void> {
  return travel(() => history.redo(text.value ?? ''), 'Redone')
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
  private readonly within = opened

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
        serial++ // intervals on their way are of another place
        const start = performance.now()
        const others = [...trial.value].filter(([path]) => path !== this.knob.path)
        const got = await askReach({
          given: {
            text: text.value ?? '',
            edits: setting(form.value, others),
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
        if (this.within !== opened) break
        batch(() => {
          if (moved || trial.value.has(this.knob.path)) {
            trial.value = new Map(trial.value).set(
              this.knob.path,
              written(this.knob, snap(this.knob, got.value)),
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
    if (this.within !== opened) return
    if (value === undefined) {
      // What was on its way when the finger came is told to nobody: see follow.
      if (solving.value || lines.value.some(l => l.pending)) void redraw()
      return
    }
    trialWords = this.words(value)
    void commit()
  }
}
