import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { devices, drag, type House, house, lureAt, openDemo, settled, soon } from './browser'

let at: House
beforeAll(async () => {
  at = await house()
})
afterAll(() => at.close())

const row = (page: Page, name: string) => page.locator('.rod-row', { hasText: name })
const number = async (page: Page, name: string, part: string) =>
  Number.parseFloat((await row(page, name).locator(`${part} b`).textContent()) ?? '')

describe.each(devices)('the spread on a %s', device => {
  test('an empty start says what to do first, and the first rod runs', async () => {
    const { page, context, trouble } = await at.fresh(device)
    await page.getByRole('heading', { name: 'Where do your lures run?' }).waitFor()
    await page.getByRole('radio', { name: 'downrigger' }).check()
    await page.getByRole('button', { name: 'cable out less 20 ft' }).click()
    await page.getByRole('button', { name: 'Show where it runs' }).click()
    await settled(page)
    expect(await page.locator('.rod-list').innerText()).toContain('starboard rod')
    const deep = await number(page, 'starboard rod', '.rod-deep')
    expect(deep).toBeGreaterThan(60)
    expect(deep).toBeLessThan(100)
    expect(trouble).toEqual([])
    await context.close()
  })

  test('a lure dragged down takes its line out along, and undo brings it back', async () => {
    const { page, context, trouble } = await at.fresh(device)
    await openDemo(page)
    const out = await number(page, 'starboard high diver', '.rod-out')
    const deep = await number(page, 'starboard high diver', '.rod-deep')
    await page.evaluate(() => scrollTo(0, 0))
    await drag(page, device, await lureAt(page, 's-high', 'astern'), 30)
    await soon(() => number(page, 'starboard high diver', '.rod-out')).toBeGreaterThan(out + 10)
    await soon(() => number(page, 'starboard high diver', '.rod-deep')).toBeGreaterThan(deep + 4)
    await settled(page)
    // All of what is told about it carries its interval.
    expect(await row(page, 'starboard high diver').innerText()).toMatch(/\d+–\d+\s*ft/)
    await page.getByRole('button', { name: /^Undo: starboard high diver: line out/ }).click()
    await soon(() => number(page, 'starboard high diver', '.rod-out')).toBe(out)
    await page.getByRole('button', { name: /^Redo/ }).click()
    await soon(() => number(page, 'starboard high diver', '.rod-out')).toBeGreaterThan(out + 10)
    expect(trouble).toEqual([])
    await context.close()
  })

  test('a touched line lights up in all three views and in the list; its settings redraw it', async () => {
    const { page, context, trouble } = await at.fresh(device)
    await openDemo(page)
    await page.evaluate(() => scrollTo(0, 0))
    const place = await lureAt(page, 'p-board', 'above')
    if (device === 'phone') await page.touchscreen.tap(place.x, place.y)
    else await page.mouse.click(place.x, place.y)
    for (const view of ['above', 'side', 'astern']) {
      await page.locator(`.view.${view} .rod.lit[data-rod="p-board"]`).waitFor()
    }
    expect(await row(page, 'port board').getAttribute('aria-pressed')).toBe('true')

    await row(page, 'port high diver').click()
    const was = await number(page, 'port high diver', '.rod-deep')
    await page.getByRole('switch', { name: /Ring/ }).click()
    await soon(() => number(page, 'port high diver', '.rod-deep')).not.toBe(was) // a ring's greater plate pulls harder
    const ring = await number(page, 'port high diver', '.rod-deep')
    const dial = page.getByLabel(/^Dial/)
    await dial.focus()
    await page.keyboard.press('ArrowLeft')
    await page.keyboard.press('ArrowLeft')
    expect(await dial.getAttribute('aria-valuetext')).toBe('mark 2')
    await soon(() => number(page, 'port high diver', '.rod-deep')).toBeGreaterThan(ring) // less to the side, deeper
    await page.getByRole('button', { name: /^Undo: port high diver: dial 2/ }).waitFor()
    expect(await dial.getAttribute('aria-valuetext')).toBe('mark 2')
    await page.getByText('Line, leader, attractor, lure').click()
    await page.getByLabel('Lure', { exact: true }).selectOption('plug-cut')
    await page.getByRole('button', { name: /^Undo: port high diver: lure plug cut/ }).waitFor()
    expect(await page.getByLabel('Lure', { exact: true }).inputValue()).toBe('plug-cut')
    expect(trouble).toEqual([])
    await context.close()
  })

  test('speed moves every line, and all go down 10 ft in one step', async () => {
    const { page, context, trouble } = await at.fresh(device)
    await openDemo(page)
    const deep = () =>
      page
        .locator('.rod-list ul')
        .first()
        .locator('.rod-row .rod-deep b')
        .allTextContents()
        .then(t => t.map(Number.parseFloat))
    const was = await deep()
    await page.getByRole('textbox', { name: /^Speed/ }).fill('2.7')
    await page.keyboard.press('Enter')
    await page.getByRole('button', { name: /^Undo: speed 2.7 mph/ }).waitFor()
    await soon(deep).not.toEqual(was)
    await page.getByRole('button', { name: /^Undo: speed 2.7 mph/ }).click()
    await soon(deep).toEqual(was)
    await settled(page)
    await page.getByRole('button', { name: 'All down 10 ft' }).click()
    await page
      .getByText(/^All down 10 ft: \d+ set/)
      .first()
      .waitFor()
    await settled(page)
    const down = await deep()
    // Those that move come within the step of their setting; what stays is named with its reason.
    const moved = down.filter((d, i) => Math.abs(d - (was[i] ?? 0) - 10) <= 2)
    expect(moved.length).toBeGreaterThanOrEqual(8)
    expect(
      await page
        .getByText(/starboard board stays/)
        .first()
        .isVisible(),
    ).toBe(true)
    await page.getByRole('button', { name: /^Undo: all down 10 ft/ }).click()
    await soon(deep).toEqual(was)
    expect(trouble).toEqual([])
    await context.close()
  })

  test('no key press is lost, however fast they come', async () => {
    const { page, context, trouble } = await at.fresh(device)
    await openDemo(page)
    await row(page, 'port high diver').click()
    const dial = page.getByLabel(/^Dial/)
    const handle = page.getByRole('slider', { name: 'starboard high diver, line out' })
    // Pauses about as long as the app waits until it writes what was pressed into the file.
    for (const [i, pause] of [0, 390, 20, 430, 0, 410].entries()) {
      await dial.focus()
      await page.keyboard.press(i % 2 ? 'ArrowRight' : 'ArrowLeft')
      await page.keyboard.press(i % 2 ? 'ArrowRight' : 'ArrowLeft')
      expect(await dial.getAttribute('aria-valuetext')).toBe(i % 2 ? 'mark 3' : 'mark 2')
      await page.waitForTimeout(pause)
      expect(await dial.getAttribute('aria-valuetext')).toBe(i % 2 ? 'mark 3' : 'mark 2')
      await handle.focus()
      for (let k = 0; k < 3; k++) await page.keyboard.press('ArrowDown')
      expect(await handle.getAttribute('aria-valuetext')).toMatch(new RegExp(`^${190 + 3 * (i + 1)} ft`))
      await row(page, 'port high diver').click()
    }
    await settled(page)
    expect(await dial.getAttribute('aria-valuetext')).toBe('mark 3')
    expect(await number(page, 'starboard high diver', '.rod-out')).toBe(208)
    expect(trouble).toEqual([])
    await context.close()
  })

  test('keys alone reach every lure', async () => {
    const { page, context } = await at.fresh(device)
    await openDemo(page)
    const handle = page.getByRole('slider', { name: 'starboard high diver, line out' })
    await handle.focus()
    expect(await handle.getAttribute('aria-valuetext')).toMatch(
      /^190 ft: \d+ ft deep \(\d+–\d+\), \d+ ft to starboard/,
    )
    await page.keyboard.press('PageDown')
    await soon(() => number(page, 'starboard high diver', '.rod-out')).toBe(200)
    await page.keyboard.press('Control+z')
    await soon(() => number(page, 'starboard high diver', '.rod-out')).toBe(190)
    await context.close()
  })

  test('one view fills the plan, and meters are shown where asked for', async () => {
    const { page, context } = await at.fresh(device)
    await openDemo(page)
    await page.getByRole('button', { name: /^from the side/ }).click()
    expect(await page.locator('.view').count()).toBe(1)
    await page.getByRole('button', { name: 'all three', exact: true }).click()
    expect(await page.locator('.view').count()).toBe(3)
    await page.getByRole('button', { name: 'Settings' }).click()
    await page.getByRole('radio', { name: 'meters, m/s' }).check()
    await page.getByRole('button', { name: 'Close' }).click()
    await soon(() => row(page, 'chute').innerText()).toMatch(/91\.4 m out/)
    await context.close()
  })
})
