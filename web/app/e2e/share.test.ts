// Links: what goes out comes back, and what means harm is refused.
import { deflateRawSync } from 'node:zlib'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { devices, type House, house, openDemo, settled, soon } from './browser'

let at: House
beforeAll(async () => {
  at = await house()
})
afterAll(() => at.close())

const payload = (text: string) => `1.${deflateRawSync(text).toString('base64url')}`

describe.each(devices)('sharing on a %s', device => {
  test('a link carries everything, to nobody else', async () => {
    const { page, context, trouble } = await at.fresh(device)
    await openDemo(page)
    await page.locator('.rod-row', { hasText: 'chute' }).click()
    await page.getByRole('button', { name: 'line out more 10 ft' }).filter({ visible: true }).first().click()
    await page.getByRole('button', { name: /^Undo: chute: line out 310 ft/ }).waitFor()
    await page.getByRole('navigation', { name: 'Views' }).getByRole('button', { name: 'Share' }).click()
    await page.waitForFunction(() =>
      /#1\./.test(document.querySelector<HTMLTextAreaElement>('#link')?.value ?? ''),
    )
    const link = await page.locator('#link').inputValue()
    await page.getByRole('button', { name: 'Copy the link' }).click()
    await page.getByText('Link copied.').waitFor()
    await soon(() => page.evaluate(() => navigator.clipboard.readText())).toBe(link)
    await page.getByRole('img', { name: 'QR code of the link' }).waitFor()
    const [file] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('button', { name: 'Save the file' }).click(),
    ])
    expect(file.suggestedFilename()).toBe('summer-spread-over-a-thermocline.yaml')

    const other = await at.fresh(device)
    await other.page.goto(link)
    await settled(other.page)
    await soon(() => other.page.locator('.rod-row', { hasText: 'chute' }).textContent()).toContain('310')
    const carried = link.slice(link.indexOf('#') + 1)
    expect(carried.length).toBeGreaterThan(500)
    expect(at.site.asked.some(p => p.includes(carried.slice(0, 20)))).toBe(false)
    expect(trouble).toEqual([])
    await other.context.close()
    await context.close()
  })

  test('the card is drawn, and prints on one sheet of the paper chosen', async () => {
    const { page, context, trouble } = await at.fresh(device)
    await page.getByRole('button', { name: 'Show where it runs' }).click()
    await settled(page)
    await page.getByRole('navigation', { name: 'Views' }).getByRole('button', { name: 'Share' }).click()
    await page.getByRole('button', { name: 'Draw the card' }).click()
    const sheet = page.locator('svg.sheet.letter')
    await sheet.waitFor()
    const words = (await sheet.textContent()) ?? ''
    expect(words).toContain('My spread')
    expect(words).toContain('my-spread.yaml')
    expect(words).toMatch(/Not for navigation/)
    await page.getByRole('button', { name: 'Print the card' }).waitFor()
    for (const [paper, box] of [
      ['letter', [611, 613, 791, 793]],
      ['A5', [419, 421, 594, 596]],
    ] as [string, [number, number, number, number]][]) {
      await page.getByRole('radio', { name: paper, exact: true }).check()
      await page.locator(`svg.sheet.${paper.toLowerCase()}`).waitFor()
      const pdf = (await page.pdf({ preferCSSPageSize: true, printBackground: true })).toString('latin1')
      expect(pdf.match(/\/Type\s*\/Page\b/g)?.length).toBe(1)
      const [wide, tall] = /MediaBox \[0 0 ([\d.]+) ([\d.]+)\]/.exec(pdf)?.slice(1).map(Number) ?? []
      expect(wide).toBeGreaterThan(box[0]) // points, 1/72 inch
      expect(wide).toBeLessThan(box[1])
      expect(tall).toBeGreaterThan(box[2])
      expect(tall).toBeLessThan(box[3])
    }
    expect(trouble).toEqual([])
    await context.close()
  })

  test('a hostile link runs nothing and takes nothing away', async () => {
    const { page, context, trouble } = await at.fresh(device)
    const script = '<img src=x onerror="window.harmed=1"><script>window.harmed=1</script>'
    const named = `version: 1
name: '${script}'
note: '${script}'
speed: {given: surface, value: 2.4 mph}
boat:
  holders:
    - {id: chute, position: '${script}', tip: {up: 8 ft}}
rods:
  - id: chute
    holder: chute
    rig: {kind: flat-line, line: mono-17, behind: [{lure: spoon-standard}]}
    settings: {line_out: 90 ft}
`
    await page.goto(`${at.site.address}#${payload(named)}`)
    await settled(page)
    await soon(() => page.locator('.top-name').textContent()).toBe(script)
    expect(await page.evaluate(() => 'harmed' in window)).toBe(false)
    expect(await page.locator('main img').count()).toBe(0)
    // Bombs, nests, damage and nonsense: said in words, and the spread stays.
    for (const bad of [
      payload('a'.repeat(10 << 20)),
      payload(`rods: ${'['.repeat(100_000)}`),
      payload('version: 1\nrods: &a [*a]\n'),
      '1.AAAA',
      '9.AAAA',
      `1.${'A'.repeat(250_000)}`,
    ]) {
      await page.evaluate(hash => {
        location.hash = hash
      }, bad)
      const notice = page.locator('main .notice').first()
      await notice.waitFor()
      expect(await notice.textContent()).toMatch(
        /The link could not be opened|This file cannot be worked out/,
      )
      await notice.getByRole('button', { name: /^Good|^Undo: opened a link/ }).click()
      await notice.waitFor({ state: 'detached' })
      await settled(page)
    }
    expect(await page.evaluate(() => 'harmed' in window)).toBe(false)
    expect(trouble).toEqual([])
    await context.close()
  })
})
