// For everyone, in any light: axe-core on every view in every scheme, sizes, night's colors.
import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { fileURLToPath } from 'node:url'
import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { devices, type House, house, openDemo } from './browser'

const axeSource = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8')

let at: House
beforeAll(async () => {
  at = await house()
})
afterAll(() => at.close())

interface Finding {
  id: string
  nodes: { html: string; failureSummary: string }[]
}

/** What axe-core finds. By day and dusk text must hold 7:1; at night red alone cannot. */
async function findings(page: Page, enhanced: boolean): Promise<string[]> {
  if (!(await page.evaluate(() => 'axe' in window))) await page.evaluate(axeSource)
  const found = (await page.evaluate(async strict => {
    const axe = (
      window as unknown as { axe: { run(root: Document, o: object): Promise<{ violations: Finding[] }> } }
    ).axe
    const result = await axe.run(document, { rules: { 'color-contrast-enhanced': { enabled: strict } } })
    return result.violations
  }, enhanced)) as Finding[]
  return found.flatMap(f =>
    f.nodes.map(n => `${f.id}: ${n.html.slice(0, 160)} ${n.failureSummary.slice(0, 240)}`),
  )
}

/** Targets under 48 px, by their names; what is not shown or not a target by itself is left out. */
function small(page: Page): Promise<string[]> {
  return page.evaluate(() => {
    const out: string[] = []
    for (const el of document.querySelectorAll<HTMLElement>(
      'button, select, summary, textarea, input, a[href]',
    )) {
      const label = el.closest<HTMLElement>('.choice-option, .stepper-value') ?? el
      const r = label.getBoundingClientRect()
      if (r.width === 0 || r.height === 0 || el.closest('.skip') || !el.checkVisibility()) continue
      if (r.width < 47.5 || r.height < 47.5)
        out.push(`${el.tagName} ${el.getAttribute('aria-label') ?? el.textContent} ${r.width} x ${r.height}`)
    }
    return out
  })
}

/** Colors whose green or blue is above a tenth, of anything drawn. */
function notRed(page: Page): Promise<string[]> {
  return page.evaluate(() => {
    const out = new Set<string>()
    for (const el of document.querySelectorAll('body, body *')) {
      if (!el.checkVisibility()) continue
      const s = getComputedStyle(el)
      const svg = el instanceof SVGElement
      const used = svg
        ? [s.fill, s.stroke]
        : [
            s.color,
            s.backgroundColor,
            s.borderTopColor,
            s.borderLeftColor,
            s.outlineStyle === 'none' ? '' : s.outlineColor,
          ]
      for (const c of used) {
        const [, g, b, a] = /rgba?\((\d+), (\d+), (\d+)(?:, ([\d.]+))?/.exec(c)?.slice(1).map(Number) ?? []
        if (g === undefined || b === undefined || a === 0) continue
        if (Math.max(g, b) > 25.5) out.add(`${el.tagName}.${el.getAttribute('class')} ${c}`)
      }
    }
    return [...out]
  })
}

const views = ['Spread', 'Aim', 'Lay out', 'Turn', 'Gear', 'Teach', 'Share']

async function visit(page: Page, name: string): Promise<void> {
  await page.getByRole('navigation', { name: 'Views' }).getByRole('button', { name, exact: true }).click()
}

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
    await look('a rod in hand')
    for (const v of views.slice(1)) {
      await visit(page, v)
      await page.waitForFunction(() => !document.querySelector('.working'))
      await look(v)
    }
    await page.getByRole('button', { name: 'Settings' }).click()
    await look('settings')
    await page.getByRole('radio', { name: 'large' }).check()
    await page.getByRole('radio', { name: 'left' }).check()
    await page.getByRole('button', { name: 'Close' }).click()
    await visit(page, 'Spread')
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
