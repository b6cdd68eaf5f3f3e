// The open scenario under a slow engine: no key press is lost, whatever is on its way.
import { effect } from '@preact/signals'
import { beforeEach, describe, expect, test, vi } from 'vitest'
import type { Edit } from '../src/api'

type Values = Record<string, string>

const rods = ['p1', 's1']

/** A stand-in for the engine: a file of JSON, answers in the order asked, each late. */
const engine = vi.hoisted(() => {
  let seed = 1
  const random = () => {
    seed = (seed * 48271) % 2147483647
    return seed / 2147483647
  }
  let last: Promise<unknown> = Promise.resolve()
  const late = <T>(answer: () => T): Promise<T> => {
    const mine = last.then(
      () =>
        new Promise<T>((ok, no) =>
          setTimeout(() => {
            try {
              ok(answer())
            } catch (e) {
              no(e)
            }
          }, 6 * random()),
        ),
    )
    last = mine.catch(() => {})
    return mine
  }
  return {
    random,
    late,
    start(s: number) {
      seed = s
      last = Promise.resolve()
    },
  }
})

vi.mock('../src/engine/client', () => {
  class FaultError extends Error {
    constructor(readonly faults: { text: string }[]) {
      super(faults.map(f => f.text).join())
    }
  }
  class Canceled extends Error {}
  const parse = (text: string) => JSON.parse(text) as Values
  const tracks = (text: string, edits: Edit[]) => {
    const values = { ...parse(text), ...Object.fromEntries(edits.map(e => [pathOf(e), e.value])) }
    if (Object.values(values).includes('bad')) throw new FaultError([{ text: 'bad' }])
    return rods.map(rod => ({
      rod,
      position: rod,
      side: 0,
      status: 'ok',
      line_out_m: Number(values[`rods.${rod}.settings.line_out`]),
      settings: '',
      bodies: [],
      lures: [],
      warnings: [],
    }))
  }
  const pathOf = (e: Edit) => `${e.owner}.${e.key}`
  const ask = (op: string, request: { text: string; edits?: Edit[] }) =>
    engine.late(() => {
      const edits = request.edits ?? []
      switch (op) {
        case 'check':
          return { faults: [], rods: [], note: '' }
        case 'gear':
          return { kinds: [] }
        case 'form':
          return { file: { rods: rods.map(id => ({ id, settings: settingsOf(parse(request.text), id) })) } }
        case 'edit': {
          const next = { ...parse(request.text) }
          for (const e of edits) {
            if (e.value === 'bad') throw new FaultError([{ text: 'bad' }])
            next[pathOf(e)] = e.value ?? ''
          }
          return { text: JSON.stringify(next) }
        }
        case 'move':
          return { tracks: tracks(request.text, edits).map(t => ({ ...t, parts: [], rows: [] })), points: [] }
        default:
          return {
            tracks: tracks(request.text, edits),
            rows: [],
            warnings: [],
            fan: { rods: [], devices: [] },
          }
      }
    })
  const settingsOf = (values: Values, id: string) => {
    const head = `rods.${id}.settings.`
    return Object.fromEntries(
      Object.entries(values)
        .filter(([k]) => k.startsWith(head))
        .map(([k, v]) => [k.slice(head.length), v]),
    )
  }
  return {
    FaultError,
    Canceled,
    ask,
    askReach: () => engine.late(() => ({})),
    askLong: async (op: string, request: never, _: unknown, signal?: AbortSignal) => {
      const answer = await ask(op, request)
      if (signal?.aborted) throw new Canceled('canceled')
      return answer
    },
  }
})

const doc = await import('../src/model/doc')
const { textAt } = await import('../src/model/form')

const paths = rods.flatMap(r => [`rods.${r}.settings.line_out`, `rods.${r}.settings.dial`])
const first: Values = Object.fromEntries(paths.map(p => [p, '1']))
const shown = (path: string) => doc.trial.value.get(path) ?? textAt(doc.form.value, path)
const quiet = () => vi.waitUntil(() => !doc.working.value, { timeout: 5000, interval: 1 })
const pause = (ms: number) => new Promise(ok => setTimeout(ok, ms))

beforeEach(async () => {
  await doc.open(JSON.stringify(first), 'a file')
  await quiet()
})

describe('with an engine that is slow to answer', () => {
  test.each([1, 2, 3, 4, 5, 6])('what was pressed last is shown, kept and undone, run %i', async run => {
    engine.start(7919 * run)
    const pressed: Values = { ...first }
    // At every moment the reading is what was pressed last.
    const wrong: string[] = []
    const stop = effect(() => {
      for (const p of paths) if (shown(p) !== pressed[p]) wrong.push(`${p}: ${shown(p)} for ${pressed[p]}`)
    })
    for (let i = 0; i < 24; i++) {
      const path = paths[Math.floor(engine.random() * paths.length)] ?? ''
      pressed[path] = String(i + 2)
      doc.nudge(path, String(i + 2), `press ${i}`)
      if (engine.random() < 0.3) void doc.commit()
      await pause(engine.random() < 0.1 ? 420 : 8 * engine.random())
    }
    await doc.commit()
    await quiet()
    expect(wrong).toEqual([])
    stop()
    expect(JSON.parse(doc.text.value ?? '')).toEqual(pressed)
    for (const l of doc.lines.value) {
      expect(l.state.line_out_m).toBe(Number(pressed[`rods.${l.id}.settings.line_out`]))
      expect(l.pending).toBe(false)
    }
    while (doc.undoes.value && doc.undoes.value !== 'a file') await doc.undo()
    expect(JSON.parse(doc.text.value ?? '')).toEqual(first)
    await quiet()
    for (const p of paths) expect(shown(p)).toBe(first[p])
  })

  test('a value refused takes nothing else back', async () => {
    doc.nudge('rods.p1.settings.dial', 'bad', 'dial bad')
    doc.nudge('rods.s1.settings.dial', '3', 'dial 3')
    await quiet()
    expect(shown('rods.p1.settings.dial')).toBe('1')
    expect(shown('rods.s1.settings.dial')).toBe('3')
    expect(JSON.parse(doc.text.value ?? '')).toEqual({ ...first, 'rods.s1.settings.dial': '3' })
  })

  test('undo pressed at once takes back the press before it, and one after it stands', async () => {
    doc.nudge('rods.p1.settings.dial', '2', 'dial 2')
    const undone = doc.undo()
    doc.nudge('rods.s1.settings.dial', '4', 'dial 4')
    await undone
    await quiet()
    expect(JSON.parse(doc.text.value ?? '')).toEqual({ ...first, 'rods.s1.settings.dial': '4' })
  })

  test('a file opened while an edit is on its way is not overwritten', async () => {
    doc.nudge('rods.p1.settings.dial', '2', 'dial 2')
    void doc.commit()
    const other = { ...first, 'rods.p1.settings.dial': '9' }
    await doc.open(JSON.stringify(other), 'another file')
    await quiet()
    expect(JSON.parse(doc.text.value ?? '')).toEqual(other)
    expect(shown('rods.p1.settings.dial')).toBe('9')
    doc.nudge('rods.p1.settings.dial', '3', 'dial 3')
    doc.close()
    await pause(30)
    expect(doc.text.value).toBeNull()
    expect(doc.lines.value).toEqual([])
    expect(doc.working.value).toBe(false)
  })
})
