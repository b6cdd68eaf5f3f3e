// The planner works beside the page: a hand is never kept waiting for it, and can stop it.
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { devices, type House, house, openDemo, settled, soon } from './browser'

let at: House
beforeAll(async () => {
  at = await house()
})
afterAll(() => at.close())

describe.each(devices)('while the planner works, on a %s', device => {
  test('everything else is done at once, and it stops when told', async () => {
    const { page, context, trouble } = await at.fresh(device)
    await openDemo(page)
    const visit = (name: string) =>
      page.getByRole('navigation', { name: 'Views' }).getByRole('button', { name, exact: true }).click()
    await visit('Lay out')
    const bands = page.getByText(/^Band \d+$/)
    const had = await bands.count()
    await page.getByRole('button', { name: 'Lay it out' }).click()
    const stop = page.getByRole('button', { name: /^Stop/ })
    await stop.waitFor()
    const progress = page.locator('.lay-progress')
    await progress.waitFor()
    // The quick engine edits the file, the page draws, a dialog opens: all while it works.
    await page.getByRole('button', { name: 'Add a band' }).click()
    await soon(() => bands.count()).toBe(had + 1)
    expect(await stop.isVisible()).toBe(true)
    await page.getByRole('button', { name: 'Settings' }).click()
    await page.getByRole('radio', { name: 'dusk' }).check()
    await page.getByRole('button', { name: 'Close' }).click()
    await soon(() => page.evaluate(() => document.documentElement.dataset.scheme)).toBe('dusk')
    await page.getByRole('button', { name: /^Undo/ }).click()
    await soon(() => bands.count()).toBe(had)
    expect(await stop.isVisible()).toBe(true)
    await stop.click()
    // The best so far is still worked out exactly, which takes what the machine allows.
    await stop.waitFor({ state: 'detached', timeout: 240_000 })
    await progress.waitFor({ state: 'detached' })
    // The best so far, or a word that there is none yet.
    await page
      .getByText(/Stopped before there was a plan|^Plan 1/)
      .first()
      .waitFor()
    await visit('Spread')
    await settled(page)
    expect(trouble).toEqual([])
    await context.close()
  })
})
