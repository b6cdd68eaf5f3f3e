// The spread in space: loaded when it is opened, walked around, red at night, in words too.
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import type { Page } from 'playwright-core'
import { afterAll, beforeAll, expect, test } from 'vitest'
import { findings, small } from './axe'
import { dist, type House, house, oneRod } from './browser'

let at: House
beforeAll(async () => {
  at = await house(true)
})
afterAll(() => at.close())

/** What the view shows, as a count of its colors and the most green or blue among them. */
async function colors(page: Page): Promise<{ count: number; greenBlue: number; picture: string }> {
  const png = (await page.locator('.solid-canvas').screenshot()).toString('base64')
  return page.evaluate(async data => {
    const bytes = Uint8Array.from(atob(data), c => c.charCodeAt(0))
    const image = await createImageBitmap(new Blob([bytes], { type: 'image/png' }))
    const canvas = new OffscreenCanvas(image.width, image.height)
    const c = canvas.getContext('2d')
    if (!c) throw new Error('no canvas')
    c.drawImage(image, 0, 0)
    const px = c.getImageData(0, 0, image.width, image.height).data
    const all = new Map<number, number>()
    let greenBlue = 0
    let sum = 0
    for (let i = 0; i < px.length; i += 4) {
      const [r, g, b] = [px[i] ?? 0, px[i + 1] ?? 0, px[i + 2] ?? 0]
      all.set((r << 16) | (g << 8) | b, 1)
      greenBlue = Math.max(greenBlue, g, b)
      sum = (sum * 31 + r + 7 * g + 13 * b) | 0
    }
    return { count: all.size, greenBlue, picture: String(sum) }
  }, png)
}

/** Waits until the picture is another one than it was. */
async function changed(page: Page, was: string): Promise<string> {
  for (;;) {
    const { picture } = await colors(page)
    if (picture !== was) return picture
  }
}

test('it is loaded when it is opened, kept for use without a signal, and walked around by keys', async () => {
  const { page, context, trouble } = await at.fresh('laptop', { settings: { motion: 'less' } })
  await oneRod(page)
  expect(at.site.asked.some(p => /\/scene-/.test(p))).toBe(false)
  expect(readFileSync(join(dist, 'index.html'), 'utf8')).not.toMatch(/scene-/)
  expect(readFileSync(join(dist, 'sw.js'), 'utf8')).toMatch(/assets\/scene-/)
  await page.getByRole('button', { name: 'See it in 3-D' }).click()
  const view = page.getByRole('application', { name: /^The spread in space, to scale\..*Arrow keys/ })
  await view.waitFor()
  await page.locator('.solid-canvas[data-shown]').waitFor()
  expect(at.site.asked.some(p => /\/scene-/.test(p))).toBe(true)
  let now = await changed(page, '')
  await view.focus()
  for (const key of ['ArrowLeft', 'ArrowUp', '+']) {
    await page.keyboard.press(key)
    now = await changed(page, now)
  }
  await page.getByRole('button', { name: 'from astern', exact: true }).click()
  now = await changed(page, now)
  // A tap on the one line lights it up here and in the list.
  await page.locator('.rod-row').first().click()
  await changed(page, now)
  expect(await findings(page, true)).toEqual([])
  expect(await small(page)).toEqual([])
  // The picture in words has the depth and its interval.
  await page.getByText('The picture in words').click()
  expect(await page.locator('.solid-words p').textContent()).toMatch(/starboard rod.*\d+/i)
  // By day there is green or blue; by night there is none above a tenth.
  expect((await colors(page)).greenBlue).toBeGreaterThan(100)
  const day = (await colors(page)).picture
  await page.getByRole('button', { name: 'Settings' }).click()
  await page.getByRole('radio', { name: 'night' }).check()
  await page.getByRole('button', { name: 'Close' }).click()
  await changed(page, day)
  await page.waitForFunction(
    () => getComputedStyle(document.body).getPropertyValue('--paper').trim() === '#000',
  )
  const night = await colors(page)
  expect(night.count).toBeGreaterThan(3)
  expect(night.greenBlue).toBeLessThanOrEqual(25)
  await page.getByRole('button', { name: 'Back to the lines plan' }).click()
  await page.locator('.view.side').waitFor()
  expect(trouble).toEqual([])
  await context.close()
})

test('a finger walks around it, two come nearer, and the page stays where it is', async () => {
  const { page, context, trouble } = await at.fresh('phone', { settings: { motion: 'less' } })
  await oneRod(page)
  await page.getByRole('button', { name: 'See it in 3-D' }).click()
  await page.locator('.solid-canvas[data-shown]').waitFor()
  let now = await changed(page, '')
  const box = await page.locator('.solid-canvas').boundingBox()
  if (!box) throw new Error('no canvas')
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2]
  const scrolled = () => page.evaluate(() => scrollY)
  const before = await scrolled()
  const hand = await page.context().newCDPSession(page)
  const touch = (type: 'touchStart' | 'touchMove' | 'touchEnd', ...at: [number, number][]) =>
    hand.send('Input.dispatchTouchEvent', { type, touchPoints: at.map(([x, y], id) => ({ x, y, id })) })
  await touch('touchStart', [x, y])
  for (let i = 1; i <= 6; i++) await touch('touchMove', [x + 8 * i, y - 6 * i])
  await touch('touchEnd')
  now = await changed(page, now)
  await touch('touchStart', [x - 20, y], [x + 20, y])
  for (let i = 1; i <= 6; i++) await touch('touchMove', [x - 20 - 8 * i, y], [x + 20 + 8 * i, y])
  await touch('touchEnd')
  now = await changed(page, now)
  expect(await scrolled()).toBe(before)
  await page.getByRole('button', { name: 'all of it' }).tap()
  await changed(page, now)
  expect(trouble).toEqual([])
  await context.close()
})

test('where the browser cannot draw it, it says so and what to look at instead', async () => {
  const { page, context } = await at.fresh('phone')
  await page.evaluate(() => {
    const usual = HTMLCanvasElement.prototype.getContext
    HTMLCanvasElement.prototype.getContext = function (
      this: HTMLCanvasElement,
      kind: string,
      ...more: never[]
    ) {
      return /webgl/.test(kind) ? null : (usual as (...a: unknown[]) => unknown).call(this, kind, ...more)
    } as typeof usual
  })
  await oneRod(page)
  await page.getByRole('button', { name: 'See it in 3-D' }).click()
  await page.getByText('This browser cannot draw in three dimensions here').waitFor()
  await page.getByRole('button', { name: 'Back to the lines plan' }).click()
  await page.locator('.view.side').waitFor()
  await context.close()
})
