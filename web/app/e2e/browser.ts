// A person's device in the tests: Debian's Chromium as a phone or a laptop.
import { fileURLToPath } from 'node:url'
import { type Browser, type BrowserContext, chromium, type Page } from 'playwright-core'
import { expect } from 'vitest'
import { type Site, serve } from './serve'

export const dist = process.env.APP_DIST ?? fileURLToPath(new URL('../dist', import.meta.url))

export type Device = 'phone' | 'laptop'
export const devices: readonly Device[] = ['phone', 'laptop']

/** How many times slower than this machine the device is: SLOW=6 for an old phone's. */
const slow = Number(process.env.SLOW ?? 1)

async function slowDown(page: Page): Promise<void> {
  const device = await page.context().newCDPSession(page)
  await device.send('Emulation.setCPUThrottlingRate', { rate: slow })
}

export interface House {
  browser: Browser
  site: Site
  /** A device that has never seen the app. */
  fresh(
    device: Device,
    options?: { offline?: boolean; settings?: object },
  ): Promise<{ page: Page; context: BrowserContext; trouble: string[] }>
  close(): Promise<void>
}

/** With gl it draws in three dimensions, by software. */
export async function house(gl = false): Promise<House> {
  const site = await serve(dist)
  const browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: ['--no-sandbox', ...(gl ? ['--use-angle=swiftshader', '--enable-unsafe-swiftshader'] : [])],
  })
  return {
    browser,
    site,
    async fresh(device, options = {}) {
      const context = await browser.newContext({
        ...(device === 'phone'
          ? { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true, deviceScaleFactor: 2 }
          : { viewport: { width: 1280, height: 800 } }),
        serviceWorkers: options.offline ? 'allow' : 'block',
        permissions: ['clipboard-read', 'clipboard-write'],
      })
      context.setDefaultTimeout(120_000 * Math.max(1, slow / 2))
      if (slow > 1) context.on('page', p => void slowDown(p))
      const page = await context.newPage()
      const trouble: string[] = []
      page.on('pageerror', e => trouble.push(e.message))
      page.on('console', m => {
        if (m.type() === 'error') trouble.push(m.text())
      })
      if (options.settings) {
        await page.addInitScript(s => {
          if (!localStorage.getItem('sternfan.settings')) localStorage.setItem('sternfan.settings', s)
        }, JSON.stringify(options.settings))
      }
      await page.goto(site.address)
      return { page, context, trouble }
    },
    async close() {
      await browser.close()
      await site.close()
    },
  }
}

/** Waits for what a person would wait for, however long the device takes. */
export const soon = <T>(look: () => Promise<T>) => expect.poll(look, { timeout: 120_000, interval: 30 })

/** Opens the demo and waits until its intervals are there. */
export async function openDemo(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'Open the demo (invented data)' }).click()
  await settled(page)
}

/** Waits until everything that was asked for by now is written and worked out, intervals too. */
export async function settled(page: Page): Promise<void> {
  await page.locator('.rod-row').first().waitFor()
  try {
    await page.waitForFunction(
      () => !document.querySelector('.working') && !document.querySelector('.rod.pending'),
    )
  } catch (cause) {
    const left = await page.evaluate(() => {
      const text = (q: string) => document.querySelector(q)?.textContent ?? ''
      const rods = [...document.querySelectorAll<SVGElement>('.view.side .rod.pending')]
      return `“${text('.working')}”, pending ${rods.map(r => r.dataset.rod).join(' ')}, said “${text('.headline')}”`
    })
    throw new Error(`not settled: ${left}`, { cause })
  }
}

/** Where a rod's first lure is drawn in a view, in the page's pixels. */
export async function lureAt(page: Page, rod: string, view: string): Promise<{ x: number; y: number }> {
  const box = await page.locator(`.view.${view} .rod[data-rod="${rod}"] g .mark`).first().boundingBox()
  if (!box) throw new Error(`no lure of ${rod} from ${view}`)
  return { x: box.x + box.width / 2, y: box.y + box.height / 2 }
}

/** Drags as a finger or a mouse would, in steps. */
export async function drag(
  page: Page,
  device: Device,
  from: { x: number; y: number },
  dy: number,
): Promise<void> {
  const steps = 12
  if (device === 'laptop') {
    await page.mouse.move(from.x, from.y)
    await page.mouse.down()
    for (let i = 1; i <= steps; i++) await page.mouse.move(from.x, from.y + (dy * i) / steps)
    await page.mouse.up()
    return
  }
  const touch = await page.context().newCDPSession(page)
  const at = (y: number) => [{ x: from.x, y }]
  await touch.send('Input.dispatchTouchEvent', { type: 'touchStart', touchPoints: at(from.y) })
  for (let i = 1; i <= steps; i++) {
    await touch.send('Input.dispatchTouchEvent', {
      type: 'touchMove',
      touchPoints: at(from.y + (dy * i) / steps),
    })
  }
  await touch.send('Input.dispatchTouchEvent', { type: 'touchEnd', touchPoints: [] })
}

export async function visit(page: Page, name: string): Promise<void> {
  await page.getByRole('navigation', { name: 'Views' }).getByRole('button', { name, exact: true }).click()
}

/** One rod from the empty start: what is quick to work out. */
export async function oneRod(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'Show where it runs' }).click()
  await settled(page)
}
