// What the app costs on this machine, printed, not judged: `npm run bench` after a build.
// Beside the clock it prints processor time, which other work on the machine leaves alone.
// APP_DIST names another build to compare with.
import type { CDPSession, Page } from 'playwright-core'
import { afterAll, beforeAll, test } from 'vitest'
import { type House, house, lureAt, settled } from '../e2e/browser'

let at: House
beforeAll(async () => {
  at = await house()
})
afterAll(() => at.close())

const share = (v: number[], p: number) =>
  v.toSorted((a, b) => a - b)[Math.floor(p * (v.length - 1))] ?? Number.NaN
const told = (v: number[]) =>
  `median ${share(v, 0.5).toFixed(1)} ms, p95 ${share(v, 0.95).toFixed(1)} ms of ${v.length}`

/** Processor time of the page's process, all its threads and workers, ms. */
async function processorTime(): Promise<number> {
  const browser = await at.browser.newBrowserCDPSession()
  const { processInfo } = await browser.send('SystemInfo.getProcessInfo')
  await browser.detach()
  return 1000 * processInfo.filter(p => p.type === 'renderer').reduce((sum, p) => sum + p.cpuTime, 0)
}

/** Time that the page's main thread spent, ms: all tasks, script, style and layout. */
async function mainThread(cdp: CDPSession): Promise<{ tasks: number; script: number; layout: number }> {
  const { metrics } = await cdp.send('Performance.getMetrics')
  const of = (name: string) => 1000 * (metrics.find(m => m.name === name)?.value ?? Number.NaN)
  return {
    tasks: of('TaskDuration'),
    script: of('ScriptDuration'),
    layout: of('LayoutDuration') + of('RecalcStyleDuration'),
  }
}

const firstLine = (page: Page) => page.locator('.view.side .rod .line').first().waitFor()

test('loading', async () => {
  const { page, context } = await at.fresh('laptop')
  await page.getByRole('button', { name: 'Open the demo (invented data)' }).click()
  await settled(page)
  for (let i = 0; i < 5; i++) {
    await page.goto('about:blank')
    const before = await processorTime()
    const start = Date.now()
    await page.goto(at.site.address)
    await firstLine(page)
    const drawn = Date.now() - start
    const used = (await processorTime()) - before
    await settled(page)
    console.log(
      `load to first drawn ${drawn} ms (processor ${used.toFixed(0)} ms), to intervals ${Date.now() - start} ms`,
    )
  }
  await context.close()
})

test('dragging', async () => {
  const { page, context } = await at.fresh('laptop')
  await page.getByRole('button', { name: 'Open the demo (invented data)' }).waitFor()
  const start = Date.now()
  await page.getByRole('button', { name: 'Open the demo (invented data)' }).click()
  await firstLine(page)
  console.log(`demo opened to first drawn: ${Date.now() - start} ms`)
  await settled(page)
  await page.evaluate(() => {
    const w = window as unknown as { frames: number[] }
    w.frames = []
    let was = performance.now()
    const step = (now: number) => {
      w.frames.push(now - was)
      was = now
      requestAnimationFrame(step)
    }
    requestAnimationFrame(step)
  })
  const sweep = async (seconds: number) => {
    const from = await lureAt(page, 's-high', 'side')
    await page.mouse.move(from.x, from.y)
    await page.mouse.down()
    const end = Date.now() + seconds * 1000
    for (let i = 0; Date.now() < end; i++) {
      await page.mouse.move(from.x, from.y + 30 * Math.sin(i / 20))
      await page.waitForTimeout(8)
    }
  }
  await sweep(4) // warms the engine up
  await page.mouse.up()
  await settled(page)
  await page.evaluate(() => {
    ;(window as unknown as { frames: number[] }).frames.length = 0
    performance.clearMeasures()
  })
  const cdp = await context.newCDPSession(page)
  await cdp.send('Performance.enable')
  const before = { processor: await processorTime(), main: await mainThread(cdp) }
  await sweep(8)
  const after = { processor: await processorTime(), main: await mainThread(cdp) }
  const { frames, solves } = await page.evaluate(() => ({
    frames: (window as unknown as { frames: number[] }).frames,
    solves: performance.getEntriesByName('drag').map(e => e.duration),
  }))
  await page.mouse.up()
  await settled(page)
  const each = (a: number, b: number) => ((b - a) / solves.length).toFixed(1)
  console.log(`dragging, touch to answer in the page: ${told(solves)}`)
  console.log(`dragging, between frames: ${told(frames)}`)
  console.log(
    `dragging, for each answer: processor ${each(before.processor, after.processor)} ms in all; ` +
      `main thread ${each(before.main.tasks, after.main.tasks)} ms, ` +
      `script ${each(before.main.script, after.main.script)}, ` +
      `style and layout ${each(before.main.layout, after.main.layout)}`,
  )
  await context.close()
})

/**
 * Turns while the view's status says how far it is; times from the press to the frame that
 * shows an answer, measured in the page. A build that answers in one step has one time.
 */
async function turned(page: Page, changed: boolean): Promise<{ first: number; whole: number }> {
  return page.evaluate(
    changed =>
      new Promise<{ first: number; whole: number }>(resolve => {
        const button = (text: string) => {
          for (const b of document.querySelectorAll<HTMLButtonElement>('.turn-words button')) {
            if ((b.getAttribute('aria-label') ?? b.textContent ?? '').startsWith(text)) return b
          }
          throw new Error(`no button ${text}`)
        }
        const status = () => document.querySelector('.turn-words [role=status]')?.textContent ?? ''
        if (changed) button('radius more 10 ft').click()
        const start = performance.now()
        button('Run the turn').click()
        let begun = false
        let first = 0
        const look = () => {
          const says = status()
          const waits = says.startsWith('Working out')
          begun ||= waits || says !== ''
          // What this frame draws is on the screen when it is over.
          setTimeout(() => {
            const now = performance.now() - start
            if (begun && !waits) first ||= now
            if (begun && says === '') resolve({ first, whole: now })
            else requestAnimationFrame(look)
          })
        }
        requestAnimationFrame(look)
      }),
    changed,
  )
}

test('a turn', async () => {
  const { page, context } = await at.fresh('laptop')
  await page.getByRole('button', { name: 'Open the demo (invented data)' }).click()
  await settled(page)
  await page.getByRole('navigation', { name: 'Views' }).getByRole('button', { name: 'Turn' }).click()
  await page.getByRole('button', { name: 'Run the turn' }).waitFor()
  const measure = async (what: string, times: number, changed: boolean, wait: number) => {
    const [first, whole, used]: number[][] = [[], [], []]
    for (let i = 0; i < times; i++) {
      await page.waitForTimeout(wait)
      const before = await processorTime()
      const got = await turned(page, changed)
      used?.push((await processorTime()) - before)
      first?.push(got.first)
      whole?.push(got.whole)
    }
    console.log(
      `${what}: first answer ${told(first ?? [])}; whole ${told(whole ?? [])}; processor ${told(used ?? [])}`,
    )
  }
  await measure('a turn, the first, three seconds after its view is opened', 1, false, 3000)
  await measure('a turn of half a circle, 8 minutes, asked for anew', 8, true, 100)
  await page.getByRole('radio', { name: '90°' }).check()
  await page.getByRole('textbox', { name: 'Radius' }).fill('140')
  await page.keyboard.press('Enter')
  await measure('a turn of a quarter circle, 4 minutes, asked for anew', 8, true, 100)
  await measure('the same, two seconds after the choice', 4, false, 2000)
  await context.close()
})
