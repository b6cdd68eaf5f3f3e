// Browser and command line say the same: the fan to 1e-9, the screen to the last digit.
import { execFileSync } from 'node:child_process'
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs'
import { createRequire } from 'node:module'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import type * as Comlink from 'comlink'
import { afterAll, beforeAll, expect, test } from 'vitest'
import type { Reply, Spread, TurnAnswer } from '../src/api'
import type { Service } from '../src/engine/worker'
import { dist, type House, house, settled, soon } from './browser'

const root = fileURLToPath(new URL('../../..', import.meta.url))
const toolchain = /^toolchain (\S+)/m.exec(readFileSync(join(root, 'go.mod'), 'utf8'))?.[1] ?? 'local'
const folder = mkdtempSync(join(tmpdir(), 'digits-'))
const program = join(folder, 'sternfan')
const ask = (...args: string[]) => execFileSync(program, args, { encoding: 'utf8', maxBuffer: 100_000_000 })
const run = (...args: string[]) => ask('run', ...args)

let at: House
beforeAll(async () => {
  execFileSync('go', ['build', '-o', program, './cmd/sternfan'], {
    cwd: root,
    env: { ...process.env, GOTOOLCHAIN: toolchain, PATH: `${process.env.PATH}:/usr/local/go/bin` },
  })
  at = await house()
})
afterAll(async () => {
  await at.close()
  rmSync(folder, { recursive: true })
})

/** Where two JSON values differ by more than 1e-9 of themselves, or of one when smaller. */
function differ(path: string, a: unknown, b: unknown): string[] {
  if (typeof a === 'number' && typeof b === 'number')
    return Math.abs(a - b) <= 1e-9 * Math.max(1, Math.abs(a))
      ? []
      : [`${path}: ${a} here, ${b} in the browser`]
  if (typeof a !== 'object' || typeof b !== 'object' || a === null || b === null)
    return a === b ? [] : [`${path}: ${a} here, ${b} in the browser`]
  const [p, q] = [a as Record<string, unknown>, b as Record<string, unknown>]
  const keys = new Set([...Object.keys(p), ...Object.keys(q)])
  return [...keys].flatMap(k => differ(`${path}.${k}`, p[k], q[k]))
}

const examples = readdirSync(join(root, 'examples')).filter(f => f.endsWith('.yaml'))
const built = readdirSync(join(dist, 'assets'))
const asset = (pattern: RegExp) => {
  const found = built.find(f => pattern.test(f))
  if (!found) throw new Error(`no ${pattern} among what was built`)
  return `assets/${found}`
}

test('the app’s engines answer as the program prints, for every example', async () => {
  const { page, context } = await at.fresh('laptop')
  await page.evaluate(
    readFileSync(createRequire(import.meta.url).resolve('comlink/dist/umd/comlink.min.js'), 'utf8'),
  )
  expect(examples.length).toBeGreaterThanOrEqual(5)
  const texts = examples.map(f => readFileSync(join(root, 'examples', f), 'utf8'))
  const replies = await page.evaluate(
    async ({ worker, core, whole, texts }) => {
      const { proxy, wrap } = (window as unknown as { Comlink: typeof Comlink }).Comlink
      const start = async (engine: string) => {
        const service = wrap<Service>(new Worker(worker, { type: 'module' }))
        await service.start(await WebAssembly.compileStreaming(fetch(engine)))
        return { service }
      }
      const [quick, slow] = [await start(core), await start(whole)]
      const out: { core: string; whole: string; turn: string }[] = []
      for (const [id, text] of texts.entries()) {
        const ask = JSON.stringify({ text, intervals: true, fan: true })
        const turn = await slow.service.ask(
          id,
          'turn',
          JSON.stringify({ text, every_s: 2, shapes: true, wider: true }),
          proxy(() => {}),
        )
        out.push({
          core: (await quick.service.now('spread', ask)).json,
          whole: (await slow.service.now('spread', ask)).json,
          turn: turn.json,
        })
      }
      return out
    },
    {
      worker: asset(/^worker-.*\.js$/),
      core: asset(/^core-.*\.wasm$/),
      whole: asset(/^sternfan-.*\.wasm$/),
      texts,
    },
  )
  for (const [i, file] of examples.entries()) {
    const path = join(root, 'examples', file)
    const reply = replies[i]
    const want: unknown = JSON.parse(run(path, '--format', 'json'))
    for (const text of [reply?.core, reply?.whole]) {
      const { answer } = JSON.parse(text ?? '') as Reply<Spread>
      expect(differ(file, want, answer?.fan).slice(0, 5)).toEqual([])
    }
    const turned = JSON.parse(reply?.turn ?? '') as Reply<TurnAnswer>
    const turn: unknown = JSON.parse(ask('turn', path, '--every', '2 s', '--format', 'json'))
    expect(differ(`${file} turned`, turn, turned.answer?.turn).slice(0, 5)).toEqual([])
  }
  await context.close()
})

test.each(examples)('the screen shows the digits of the program’s table: %s', async file => {
  const path = join(root, 'examples', file)
  const headline = (JSON.parse(ask('run', path, '--format', 'json')) as { verdict: { headline: string } })
    .verdict.headline
  const table = run(path)
    .split('\n')
    .map(l => l.trim().split(/\s+/).join(' '))
  const { page, context, trouble } = await at.fresh('laptop')
  await page.evaluate(text => localStorage.setItem('sternfan.text', text), readFileSync(path, 'utf8'))
  await page.reload()
  await settled(page)
  await soon(() => page.locator('.headline').innerText()).toBe(headline)
  const rods = await page
    .locator('.rod-list ul')
    .first()
    .locator('.rod-row')
    .evaluateAll(rows =>
      rows.map(r => {
        const text = (q: string) => r.querySelector(q)?.textContent ?? ''
        return {
          name: r.querySelector('.rod-name')?.firstChild?.textContent ?? '',
          out: text('.rod-out b'),
          deep: text('.rod-deep b'),
          span: text('.rod-deep small:last-child'),
        }
      }),
    )
  expect(rods.length).toBeGreaterThan(0)
  for (const { name, out, deep, span } of rods) {
    const cells = [out, deep, span.replace('–', '-').replace(/ (ft|m)$/, '')].join(' ')
    expect(table.filter(l => l.startsWith(`${name} `) && l.includes(` ${cells} `))).toHaveLength(1)
  }
  expect(trouble).toEqual([])
  await context.close()
})
