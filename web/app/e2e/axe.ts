// What must hold of every view: what axe-core finds, sizes of targets, the colors of night.
import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import type { Page } from 'playwright-core'

const axeSource = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8')

interface Finding {
  id: string
  nodes: { html: string; failureSummary: string }[]
}

/** What axe-core finds. By day and dusk text must hold 7:1; at night red alone cannot. */
export async function findings(page: Page, enhanced: boolean): Promise<string[]> {
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
export function small(page: Page): Promise<string[]> {
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
export function notRed(page: Page): Promise<string[]> {
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
