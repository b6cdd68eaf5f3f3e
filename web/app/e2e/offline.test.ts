// Load once, then no server and no network: everything still works. A new version waits.
import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, expect, test } from 'vitest'
import { dist, type House, house, openDemo, settled, soon } from './browser'
import { serve } from './serve'

let at: House
beforeAll(async () => {
  at = await house()
})
afterAll(() => at.close())

test('without network and server the app starts, computes and opens a shared link', async () => {
  const { page, context, trouble } = await at.fresh('phone', { offline: true })
  await page.evaluate(async () => {
    await navigator.serviceWorker.ready
  })
  await openDemo(page)
  await page.getByRole('navigation', { name: 'Views' }).getByRole('button', { name: 'Share' }).click()
  await page.waitForFunction(() =>
    /#1\./.test(document.querySelector<HTMLTextAreaElement>('#link')?.value ?? ''),
  )
  const link = await page.locator('#link').inputValue()
  await page.waitForFunction(async () => {
    const names = await caches.keys()
    const all = await Promise.all(names.map(async n => (await (await caches.open(n)).keys()).map(k => k.url)))
    return all.flat().some(u => u.endsWith('.wasm') || u.includes('.wasm?'))
  })
  const { address } = at.site
  await at.site.close()
  await context.setOffline(true)

  await page.goto(address)
  await settled(page)
  await page.locator('.rod-row', { hasText: 'chute' }).click()
  await page
    .getByRole('button', { name: /line out more 10 ft/ })
    .filter({ visible: true })
    .first()
    .click()
  await page.waitForFunction(() => document.querySelector('.rod-row.lit .rod-out b')?.textContent === '310')
  await settled(page)

  await page.getByRole('navigation', { name: 'Views' }).getByRole('button', { name: 'Turn' }).click()
  await page.getByRole('button', { name: 'Run the turn' }).click()
  await page.locator('.turn-depths').waitFor()

  const other = await context.newPage()
  await other.goto(link)
  await settled(other)
  await soon(() => other.locator('.top-name').textContent()).toBe('Summer spread over a thermocline')
  await soon(() => other.locator('.rod-row', { hasText: 'chute' }).textContent()).toContain('300')
  // The link itself is gone from the address: a reload keeps what was changed since.
  expect(new URL(other.url()).hash).toBe('')
  expect(trouble.filter(t => !/ERR_INTERNET_DISCONNECTED|ERR_CONNECTION_REFUSED/.test(t))).toEqual([])
  await context.close()
})

test('a new version is offered, never forced, and nothing is lost by taking it', async () => {
  const next = mkdtempSync(join(tmpdir(), 'app-'))
  cpSync(dist, next, { recursive: true })
  writeFileSync(
    join(next, 'index.html'),
    readFileSync(join(next, 'index.html'), 'utf8').replace('<title>sternfan', '<title>sternfan new'),
  )
  const sw = join(next, 'sw.js')
  // Another revision of the page, as a build would write it.
  writeFileSync(
    sw,
    readFileSync(sw, 'utf8').replace(
      /(url:"index\.html",revision:")[0-9a-f]+|(revision:")[0-9a-f]+(",url:"index\.html")/,
      (_, a, b, c) => (a ? `${a}0123` : `${b}0123${c}`),
    ),
  )
  const site = await serve(dist)
  const context = await at.browser.newContext({ viewport: { width: 1280, height: 800 } })
  const page = await context.newPage()
  page.setDefaultTimeout(60_000)
  await page.goto(site.address)
  await page.evaluate(async () => {
    await navigator.serviceWorker.ready
  })
  await openDemo(page)
  await page.reload()
  await settled(page)
  site.change(next)
  await page.evaluate(async () => (await navigator.serviceWorker.getRegistration())?.update())
  await page.getByText('A new version is ready').waitFor()
  expect(await page.title()).toBe('sternfan')
  await page.locator('.rod-row', { hasText: 'chute' }).click()
  await page.getByRole('button', { name: 'line out more 10 ft' }).filter({ visible: true }).first().click()
  await page.getByRole('button', { name: 'Take it now' }).click()
  await page.waitForFunction(() => document.title === 'sternfan new')
  await settled(page)
  await soon(() => page.locator('.rod-row', { hasText: 'chute' }).textContent()).toContain('310')
  await context.close()
  await site.close()
  rmSync(next, { recursive: true })
})
