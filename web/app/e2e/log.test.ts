// The trip log as a crew would use it: one tap, no server, reload; the server comes back;
// two devices; a device that keeps nothing; a host that has no log.
import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { BrowserContext, Page } from 'playwright-core'
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, test } from 'vitest'
import { type Boat, boat, buildBoat } from './boat'
import { type Device, devices, type House, house, openDemo, settled } from './browser'

let at: House
let b: Boat
beforeAll(async () => {
  buildBoat()
  at = await house()
})
afterAll(() => at.close())
beforeEach(async () => {
  b = await boat()
})
afterEach(() => b.close())

async function visit(page: Page, name: string): Promise<void> {
  await page.getByRole('navigation', { name: 'Views' }).getByRole('button', { name, exact: true }).click()
}

/** A device aboard, with the boat's app. */
async function aboard(
  device: Device,
  prepare?: (context: BrowserContext) => Promise<unknown>,
): Promise<{ page: Page; context: BrowserContext; trouble: string[] }> {
  const got = await at.fresh(device, { offline: true })
  await prepare?.(got.context)
  await got.page.goto(b.address)
  return got
}

async function begin(page: Page): Promise<void> {
  await openDemo(page)
  await visit(page, 'Log')
  await page.getByLabel('Name').fill('Invented evening')
  await page.getByLabel('Anglers').fill('3')
  await page.getByRole('button', { name: 'Begin, all lines out as shown' }).click()
  await page.getByRole('heading', { name: 'Lines: 12 out, 0 in' }).waitFor()
}

const strikeOn = (page: Page, rod: string) =>
  page.locator('.pad-rods').getByRole('button', { name: new RegExp(`: strike on ${rod}$`) })
const allThere = (page: Page) => page.getByText('All entries are with the boat’s log.').first().waitFor()
const strikes = () =>
  b
    .log('list', '--events', '--kind', 'strike')
    .split('\n')
    .filter(l => / strike/.test(l) && !/taken back/.test(l))

/** What a browser says of a server that is not there is no trouble. */
const real = (trouble: string[]) =>
  trouble.filter(t => !/ERR_INTERNET_DISCONNECTED|ERR_CONNECTION_REFUSED|ERR_FAILED|404/.test(t))

describe.each(devices)('on a %s', device => {
  test('a strike by one tap without a server is kept over a reload, waits, and goes when it is back', async () => {
    const { page, context, trouble } = await aboard(device)
    await page.evaluate(async () => {
      await navigator.serviceWorker.ready
    })
    await begin(page)
    await allThere(page)
    await visit(page, 'Spread')
    await b.stop()

    await strikeOn(page, 'port low diver').click()
    await page
      .locator('.done-bar')
      .getByText(/^Strike on port low diver, \d\d:\d\d/)
      .waitFor()
    await page.locator('.pad').getByText('1 entry waits on this device.').waitFor()
    // A slip is taken back: two entries more, and no strike more.
    await page.getByRole('button', { name: 'Good: put this note away' }).click()
    await strikeOn(page, 'chute').click()
    await page.getByRole('button', { name: /^Undo: Strike on chute/ }).click()
    await page.locator('.pad').getByText('3 entries wait on this device.').waitFor()

    await page.reload()
    await strikeOn(page, 'port low diver').waitFor()
    await visit(page, 'Log')
    await page.getByText('3 entries wait on this device for it.', { exact: false }).waitFor()
    await page.getByText(/, 1 strike\./).waitFor()
    await page
      .locator('.log-line', { hasText: 'Port low diver' })
      .getByText(/lure at 65 ft \(/)
      .first()
      .waitFor()

    await b.start()
    await page.getByRole('button', { name: 'Try again now' }).click()
    await allThere(page)
    expect(strikes().length).toBe(1)
    // The strike has the depth that the spread showed, with its interval.
    expect(strikes()[0]).toMatch(/p-low strike: lure at 65 ft \(5\d ft to 7\d ft, 4 times in 5\)/)

    await page.getByRole('button', { name: /^Landed: the \d\d:\d\d strike on port low diver/ }).click()
    await page.getByRole('radio', { name: 'king salmon' }).check()
    await page.getByRole('radio', { name: 'released' }).check()
    await page.getByLabel(/^Length/).fill('34')
    await page.getByRole('button', { name: 'Log the fish' }).click()
    await page.getByRole('heading', { name: 'Lines: 11 out, 1 in' }).waitFor()
    await page.getByText(/king salmon; landed; released; 34 in/).waitFor()
    await page.getByRole('button', { name: /^Put right the fish/ }).click()
    await page.getByRole('radio', { name: 'kept' }).check()
    await page.getByRole('button', { name: 'Log the fish' }).click()
    await page.getByText(/king salmon; landed; kept; 34 in/).waitFor()
    await allThere(page)
    expect(b.log('day')).toMatch(/king salmon +1 +0/)
    expect(b.log('verify')).toContain('the file is whole')
    expect(real(trouble)).toEqual([])
    await context.close()
  })

  test('what the spread shows otherwise than logged is proposed, logged by a touch, and taken back', async () => {
    const { page, context, trouble } = await aboard(device)
    await begin(page)
    await visit(page, 'Spread')
    await settled(page)
    await page.locator('.rod-row', { hasText: 'starboard high diver' }).click()
    await page.getByRole('button', { name: 'line out more 10 ft' }).filter({ visible: true }).first().click()
    await page.getByText('Starboard high diver: line out 200 ft, logged 190 ft').waitFor()
    const logIt = page.getByRole('button', { name: 'Log it: starboard high diver as shown' }).first()
    await logIt.click()
    await page.getByText('Starboard high diver changed.').waitFor()
    await page.getByText('Shown otherwise than logged').waitFor({ state: 'detached' })
    await page.getByRole('button', { name: /^Undo: starboard high diver changed/ }).click()
    await page.getByText('Starboard high diver: line out 200 ft, logged 190 ft').waitFor()
    await page.getByRole('button', { name: 'Only trying' }).click()
    await page.getByText('Shown otherwise than logged').waitFor({ state: 'detached' })
    await allThere(page)
    expect(b.log('list', '--events', '--kind', 'line-changed')).toMatch(
      /s-high changed: .*200 ft out.*taken back/,
    )
    await visit(page, 'Log')
    await page.getByRole('button', { name: 'Fouled: starboard low diver' }).click()
    await page.getByText('fouled: no effort since it was last checked', { exact: true }).waitFor()
    await page.locator('summary', { hasText: 'Something measured' }).click()
    await page.getByLabel('Rod', { exact: true }).selectOption({ label: 'port low diver' })
    await page.getByLabel(/^Measured/).fill('61')
    await page.getByRole('button', { name: 'Log the measurement' }).click()
    await page.getByText('Measurement on port low diver logged.').waitFor()
    await page.locator('summary', { hasText: 'Conditions' }).click()
    await page.getByLabel(/^Speed over ground/).fill('2.7')
    await page.getByLabel('Sky').fill('overcast')
    await page.getByRole('button', { name: 'Log the conditions' }).click()
    await page.getByText('Conditions logged.').waitFor()
    await page.getByRole('button', { name: 'End the trip' }).click()
    await page.getByRole('heading', { name: 'Begin a trip' }).waitFor()
    await allThere(page)
    const all = b.log('list', '--events')
    expect(all).toMatch(/p-low measured: depth 61 ft/)
    expect(all).toMatch(/conditions: 2.7 mph over ground, overcast/)
    expect(all).toMatch(/s-low fouled/)
    expect(all).toMatch(/trip ends/)
    expect(real(trouble)).toEqual([])
    await context.close()
  })
})

test('two devices, cut off in turn, come to one log', async () => {
  const one = await aboard('phone')
  await begin(one.page)
  await allThere(one.page)
  const two = await aboard('laptop')
  await openDemo(two.page)
  // It joins the trip by itself.
  await strikeOn(two.page, 'port low diver').waitFor()
  await two.context.setOffline(true)
  await strikeOn(two.page, 'port low diver').click()
  await two.page.locator('.pad').getByText('1 entry waits on this device.').waitFor()
  await visit(one.page, 'Spread')
  await strikeOn(one.page, 'starboard board').click()
  await allThere(one.page)
  await two.context.setOffline(false)
  await allThere(two.page)
  for (const { page } of [one, two]) {
    await visit(page, 'Log')
    await page.getByText(/, 2 strikes\./).waitFor()
  }
  expect(strikes().length).toBe(2)
  expect(real([...one.trouble, ...two.trouble])).toEqual([])
  await one.context.close()
  await two.context.close()
})

test('two trips begun apart are joined by a touch, on both devices, and parted again', async () => {
  const one = await aboard('phone')
  const two = await aboard('laptop')
  for (const { page } of [one, two]) {
    await page.evaluate(async () => {
      await navigator.serviceWorker.ready
    })
  }
  await b.stop()
  await begin(one.page)
  await begin(two.page)
  await two.page.getByRole('button', { name: 'Strike on chute', exact: true }).click()
  await two.page.getByText(/, 1 strike\./).waitFor()
  await b.start()
  for (const { page } of [one, two]) {
    await visit(page, 'Log')
    await page.getByRole('button', { name: 'Try again now' }).click()
    await allThere(page)
  }
  await one.page.getByText(/^Another trip, .* Is it this one\?$/).waitFor()
  await one.page.getByRole('button', { name: /^Join the trip begun on phone-/ }).click()
  await one.page.getByText(/^With the trip .*, begun at \d\d:\d\d on phone-/).waitFor()
  await one.page.getByText(/, 1 strike\./).waitFor()
  await allThere(one.page)
  // The other device hears of it, and goes on in the one trip.
  await two.page.getByText(/^With the trip .*, begun at \d\d:\d\d on phone-/).waitFor()
  await two.page.getByText(/, 1 strike\./).waitFor()
  expect(b.log('list').match(/under way/g)?.length).toBe(1)
  await one.page.getByRole('button', { name: /^Part the trip begun on/ }).click()
  await one.page.getByText(/^Another trip, .* Is it this one\?$/).waitFor()
  await allThere(one.page)
  expect(b.log('list').match(/under way/g)?.length).toBe(2)
  expect(b.log('verify')).toContain('the file is whole')
  expect(real([...one.trouble, ...two.trouble])).toEqual([])
  await one.context.close()
  await two.context.close()
})

test('a strike carries the place only while that is turned on', async () => {
  const { page, context, trouble } = await aboard('phone')
  await context.grantPermissions(['geolocation'], { origin: new URL(b.address).origin })
  await context.setGeolocation({ latitude: 0.5123456, longitude: -1.25, accuracy: 9 })
  await begin(page)
  const lit = (name: string) => page.getByRole('button', { name, exact: true }).click()
  const placed = () =>
    (
      JSON.parse(b.log('export', 'strikes', '--format', 'geojson')) as {
        features: { geometry: { coordinates: number[] } }[]
      }
    ).features.map(f => f.geometry.coordinates)
  await lit('Strike on chute')
  await page.getByText(/, 1 strike\./).waitFor()
  await page.getByText('Where the boat is', { exact: true }).click()
  await page.getByText('Entries carry no place.').waitFor()
  await lit('Log the place with each entry')
  await page.getByText(/^Entries carry the boat’s place, good to some 30 ft\.$/).waitFor()
  await lit('Strike on chute')
  await page.getByText(/, 2 strikes\./).waitFor()
  await lit('Leave the place out')
  await page.getByText('Entries carry no place.').waitFor()
  await lit('Strike on chute')
  await page.getByText(/, 3 strikes\./).waitFor()
  await allThere(page)
  expect(placed()).toEqual([[-1.25, 0.51235]])
  expect(real(trouble)).toEqual([])
  await context.close()
})

test('a browser that keeps nothing says so, logs all the same, and hands it on', async () => {
  const { page, context, trouble } = await aboard('phone', context =>
    context.addInitScript(() => {
      IDBFactory.prototype.open = () => {
        throw new DOMException('not here', 'SecurityError')
      }
    }),
  )
  await begin(page)
  await page.getByText(/This browser keeps nothing for the app/).waitFor()
  await visit(page, 'Spread')
  await strikeOn(page, 'chute').click()
  await page
    .locator('.done-bar')
    .getByText(/^Strike on chute/)
    .waitFor()
  await visit(page, 'Log')
  await allThere(page)
  expect(strikes().length).toBe(1)
  expect(real(trouble)).toEqual([])
  await context.close()
})

test('at a host without a log it stays on the device, and goes on as a file', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'log-'))
  const { page, context, trouble } = await at.fresh('phone')
  await begin(page)
  await page.getByRole('button', { name: 'Strike on chute', exact: true }).click()
  await page.getByText(/^Kept on this device: 15 entries/).waitFor()
  const [saved] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name: 'Save all entries' }).click(),
  ])
  const file = join(folder, 'log.jsonl')
  await saved.saveAs(file)
  expect(readFileSync(file, 'utf8').trim().split('\n').length).toBe(15)
  expect(b.log('import', file)).toContain('15 of them new to the log')
  expect(strikes().length).toBe(1)
  // And back in, on another device.
  const other = await at.fresh('laptop')
  await openDemo(other.page)
  await visit(other.page, 'Log')
  const [chosen] = await Promise.all([
    other.page.waitForEvent('filechooser'),
    other.page.getByRole('button', { name: 'Take in a file' }).click(),
  ])
  await chosen.setFiles(file)
  await other.page.getByText('log.jsonl: 15 entries, 15 of them new.').waitFor()
  await other.page.getByText(/, 1 strike\./).waitFor()
  expect(trouble).toEqual([])
  expect(other.trouble).toEqual([])
  await context.close()
  await other.context.close()
  rmSync(folder, { recursive: true })
})
