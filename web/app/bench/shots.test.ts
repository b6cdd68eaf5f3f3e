import { afterAll, beforeAll, test } from 'vitest'
import { type House, house, settled, visit } from '../e2e/browser'
let at: House
beforeAll(async () => { at = await house() })
afterAll(() => at.close())
const dir = process.env.SHOTS ?? '/tmp/shots'
const only = process.env.ONLY?.split(',')
for (const device of ['phone', 'laptop'] as const) for (const scheme of ['day', 'night']) {
  test(`${device} ${scheme}`, async () => {
    const { page, context } = await at.fresh(device, { settings: { scheme } })
    await page.getByRole('button', { name: 'Open the demo (invented data)' }).click()
    await settled(page)
    for (const v of ['Spread', 'Aim', 'Lay out', 'Turn', 'Gear', 'Teach', 'Share', 'Log']) {
      if (only && !only.includes(v)) continue
      try {
      await visit(page, v)
      await page.waitForTimeout(300)
      if (v === 'Aim') {
        await page.waitForTimeout(1500)
      }
      if (v === 'Turn') {
        await page.getByRole('button', { name: 'Run the turn' }).click()
        await page.getByText('bars: intervals').waitFor({ timeout: 60000 })
        await page.getByLabel(/^Time/).fill('150')
      }
      if (v === 'Lay out') await page.waitForTimeout(500)
      await page.waitForTimeout(500)
      await page.screenshot({ path: `${dir}/${device}-${scheme}-${v.replace(' ', '')}.png`, fullPage: device === 'phone' })
      } catch (e) { console.log(v, String(e).slice(0, 300)) }
    }
    await context.close()
  })
}
