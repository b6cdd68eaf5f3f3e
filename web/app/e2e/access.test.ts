// For everyone, in any light: axe-core on every view in every scheme, sizes, night's colors.
import { fileURLToPath } from 'node:url'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { findings, notRed, small } from './axe'
import { devices, type House, house, openDemo, visit } from './browser'

let at: House
beforeAll(async () => {
  at = await house()
})
afterAll(() => at.close())

const views = ['Spread', 'Log', 'Aim', 'Lay out', 'Turn', 'Gear', 'Teach', 'Share']

describe.each(devices)('on a %s', device => {
  test('axe-core finds nothing in any view or scheme; targets are large; night is red', async () => {
    const { page, context, trouble } = await at.fresh(device)
    const wrong: string[] = []
    const look = async (where: string) => {
      for (const scheme of ['day', 'dusk', 'night']) {
        await page.evaluate(s => {
          document.documentElement.dataset.scheme = s
        }, scheme)
        // To be looked at: out/ is not kept.
        const name = `${device}-${where.replace(/\W+/g, '-').toLowerCase()}-${scheme}`
        await page.screenshot({ path: fileURLToPath(new URL(`../out/${name}.png`, import.meta.url)) })
        for (const f of await findings(page, scheme !== 'night')) wrong.push(`${where}, ${scheme}: ${f}`)
        if (scheme === 'night') for (const c of await notRed(page)) wrong.push(`${where}, night: ${c}`)
      }
      for (const s of await small(page)) wrong.push(`${where}: ${s}`)
    }
    await page.getByRole('heading', { name: 'Where do your lures run?' }).waitFor()
    await look('start')
    await openDemo(page)
    await look('spread')
    await page.locator('.rod-row', { hasText: 'port high diver' }).click()
    await page.getByText('Line, leader, attractor, lure').click()
    await page.getByText('Current and heading').click()
    await look('a rod in hand')
    for (const v of views.slice(1)) {
      await visit(page, v)
      await page.waitForFunction(() => !document.querySelector('.working'))
      if (v === 'Gear') {
        await page.locator('.spool-item').first().waitFor()
        await page.evaluate(() => {
          for (const d of document.querySelectorAll('details')) d.open = true
        })
      }
      if (v === 'Aim') {
        await page.getByLabel(/^Depth wanted/).fill('60')
        await page.keyboard.press('Enter')
        await page.locator('.way').first().waitFor()
      }
      if (v === 'Turn') {
        await page.getByRole('button', { name: 'Run the turn' }).click()
        await page.getByText('bars: intervals before the turn').waitFor()
        await page.getByRole('button', { name: /^How often/ }).waitFor()
      }
      if (v === 'Share') {
        await page.getByRole('button', { name: 'Draw the card' }).click()
        await page.locator('svg.sheet').waitFor()
      }
      await look(v)
    }
    await visit(page, 'Log')
    await page.getByRole('button', { name: 'Begin, all lines out as shown' }).click()
    await page.getByRole('heading', { name: 'Lines: 12 out, 0 in' }).waitFor()
    for (const s of ['Conditions', 'Something measured', 'A note'])
      await page.locator('summary', { hasText: s }).click()
    await page.getByRole('button', { name: /^Make the sheet/ }).click()
    await page.locator('.day-sheet').waitFor()
    await look('log under way')
    await visit(page, 'Spread')
    await page.getByRole('button', { name: /: strike on port high diver$/ }).click()
    await page.getByRole('button', { name: 'Landed', exact: true }).waitFor()
    await look('strike')
    await visit(page, 'Log')
    await page.getByRole('button', { name: /^Landed: the / }).click()
    await look('fish')
    await page.getByRole('button', { name: 'Close' }).click()
    await page.getByRole('button', { name: 'Settings' }).click()
    await look('settings')
    await page.getByRole('radio', { name: 'large' }).check()
    await page.getByRole('radio', { name: 'left' }).check()
    await page.getByRole('button', { name: 'Close' }).click()
    await visit(page, 'Spread')
    await page.locator('.rod-row', { hasText: 'port high diver' }).click()
    await look('large text, left hand')
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)
    if (wide > 0) wrong.push(`large text: ${wide} px wider than the screen`)
    expect(wrong).toEqual([])
    expect(trouble).toEqual([])
    await context.close()
  })

  test('keys go through every control, and none is a trap', async () => {
    const { page, context } = await at.fresh(device)
    await openDemo(page)
    const seen = new Set<string>()
    await page.evaluate(() => {
      document.querySelector<HTMLElement>('.skip')?.focus()
    })
    for (let i = 0; i < 120; i++) {
      await page.keyboard.press('Tab')
      const name = await page.evaluate(() => {
        const e = document.activeElement
        return e && e !== document.body
          ? `${e.tagName} ${e.getAttribute('aria-label') ?? e.textContent?.slice(0, 40)}`
          : ''
      })
      if (name) seen.add(name)
    }
    const all = [...seen].join('\n')
    for (const needed of [
      'Settings',
      'Spread',
      'Share',
      'port high diver, line out',
      'All down 10 ft',
      'speed more 0.1 mph',
      'starboard board',
      'from astern',
    ]) {
      expect(all).toContain(needed)
    }
    await context.close()
  })
})
