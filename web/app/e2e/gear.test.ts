// Boat, gear, water and current: changed as a person would, and the file keeps its comments.
import { readFileSync } from 'node:fs'
import type { Page } from 'playwright-core'
import { afterAll, beforeAll, expect, test } from 'vitest'
import { drag, type House, house, oneRod, settled, visit } from './browser'

let at: House
beforeAll(async () => {
  at = await house()
})
afterAll(() => at.close())

/** The text that is open, as the file would be saved. */
const text = (page: Page) => page.evaluate(() => localStorage.getItem('sternfan.text') ?? '')

async function pick(page: Page, button: string, file: { name: string; mimeType: string; buffer: Buffer }) {
  const [chooser] = await Promise.all([
    page.waitForEvent('filechooser'),
    page.getByRole('button', { name: button }).click(),
  ])
  await chooser.setFiles(file)
}

const csv = (words: string) => ({ name: 'cast.csv', mimeType: 'text/csv', buffer: Buffer.from(words) })

test('on a phone a rod tip is dragged to its place, and a downrigger is added and changed', async () => {
  const { page, context, trouble } = await at.fresh('phone')
  await oneRod(page)
  await visit(page, 'Gear')
  const tip = page.getByRole('button', { name: /^starboard rod: .* Arrow keys move it/ })
  await tip.scrollIntoViewIfNeeded()
  const box = await tip.boundingBox()
  if (!box) throw new Error('no rod tip')
  await drag(page, 'phone', { x: box.x + box.width / 2, y: box.y + box.height / 2 }, 40)
  await page.getByRole('button', { name: 'Undo: moved starboard rod' }).waitFor()
  expect(await text(page)).toMatch(/tip: \{forward: 2 ft, (starboard|port): [\d.]+ ft, up: 4 ft\}/)
  expect(await text(page)).not.toContain('starboard: 8 ft')
  await page.getByRole('button', { name: 'Undo: moved starboard rod' }).click()
  await page.waitForFunction(() => localStorage.getItem('sternfan.text')?.includes('starboard: 8 ft'))
  await page.getByRole('button', { name: 'above the water more 0.5 ft' }).click()
  await page.waitForFunction(() => localStorage.getItem('sternfan.text')?.includes('up: 4.5 ft'))

  await page.getByRole('button', { name: 'Add a downrigger' }).click()
  await page.locator('legend', { hasText: 'Rigger port' }).waitFor()
  await page.getByLabel('Ball', { exact: true }).selectOption('ball-finned-12')
  await page.getByRole('button', { name: /^Undo: rigger port: ball/ }).waitFor()
  await page.getByRole('textbox', { name: 'Cable out' }).fill('65 ft')
  await page.keyboard.press('Enter')
  await page.getByRole('button', { name: /^Undo: rigger port: cable out 65 ft/ }).waitFor()
  expect(await text(page)).toContain('cable_out: 65 ft')
  expect(trouble).toEqual([])
  await context.close()
})

test('on a laptop: a spool, a diver and a board from first principles, a copy; comments stay', async () => {
  const { page, context, trouble } = await at.fresh('laptop')
  const [chooser] = await Promise.all([
    page.waitForEvent('filechooser'),
    page.getByRole('button', { name: 'Open a file' }).click(),
  ])
  await chooser.setFiles({
    name: 'mine.yaml',
    mimeType: 'text/yaml',
    buffer: Buffer.from(`# my boat, measured in May
speed: {given: surface, value: 2.4 mph} # paddle wheel
boat:
  holders:
    - {id: one, position: chute, tip: {up: 8 ft}} # over the stern
rods:
  # the first
  - id: one
    holder: one
    rig: {kind: diver, line: braid-30, diver: diver-standard, behind: [{lure: spoon-standard}]}
    settings: {line_out: 120 ft, dial: 2, side: port} # counted twice
`),
  })
  await settled(page)
  await visit(page, 'Gear')
  await page.getByText('No rod has a reel yet').waitFor()
  await page.getByText('Holder, reel', { exact: true }).click()
  await page.getByLabel('Reel of chute').selectOption('reel-line-counter-medium')
  await page.getByRole('img', { name: /^Spool of the chute: 120 ft out, (more than )?\d+ ft left/ }).waitFor()

  for (const [summary, start, name, fields] of [
    [
      'Divers',
      'Describe a diver',
      'plate',
      { 'Diameter of the disc *': '118 mm', 'Tilt at dial mark 0': '0 deg', 'Tilt at dial mark 3': '30 deg' },
    ],
    [
      'Boards',
      'Describe a board',
      'plank',
      {
        'Mass in air *': '300 g',
        'Volume when fully under *': '700 cm3',
        'Pull to the side: coefficient × area *': '110 cm2',
        'Drag: coefficient × area *': '55 cm2',
      },
    ],
  ] as [string, string, string, Record<string, string>][]) {
    const part = page.locator('details', { has: page.getByText(new RegExp(`^${summary}: `)) })
    await part.locator('summary').first().click()
    await part.getByLabel('Start from').selectOption({ label: 'nothing: from first principles' })
    await part.getByRole('button', { name: start }).click()
    await part.getByLabel('Called').fill(name)
    expect(await part.getByRole('button', { name: 'Add it' }).isDisabled()).toBe(true)
    for (const [label, value] of Object.entries(fields))
      await part.getByLabel(label, { exact: true }).fill(value)
    await part.getByRole('button', { name: 'Add it' }).click()
    await page.getByRole('button', { name: `Undo: added ${name}` }).waitFor()
  }
  await page.getByRole('button', { name: 'Copy plate' }).click()
  await page.getByRole('button', { name: 'Undo: copied plate' }).waitFor()
  // The described diver runs: it is on the rod now.
  await visit(page, 'Spread')
  await settled(page)
  await page.locator('.rod-row', { hasText: 'chute' }).click()
  await page.getByText('Line, leader, attractor, lure').click()
  await page.getByLabel('Diver', { exact: true }).selectOption('plate')
  await page.getByRole('button', { name: /^Undo: chute: diver plate/ }).waitFor()
  const file = await text(page)
  for (const comment of [
    '# my boat, measured in May',
    '# paddle wheel',
    '# over the stern',
    '# the first',
    '# counted twice',
  ])
    expect(file).toContain(comment)
  expect(file).toContain('diver: plate')
  expect(trouble).toEqual([])
  await context.close()
})

test('on a phone the water is set, and a profile’s file is taken or refused in words', async () => {
  const { page, context, trouble } = await at.fresh('phone')
  await oneRod(page)
  await visit(page, 'Gear')
  await pick(page, 'Take a profile file', csv('depth ft,temp F\n0,70\n40,66\n60,50\n'))
  await page.getByText(/^Taken from cast\.csv: 3 depths from 0 ft to 60 ft/).waitFor()
  expect(await text(page)).toContain('{depth: 40 ft, temp: 66 F}')
  await pick(page, 'Take a profile file', csv('no table at all'))
  await page.getByText(/^cast\.csv.* cannot be taken: /).waitFor()
  await page.getByRole('textbox', { name: 'Temperature 2' }).fill('64 F')
  await page.keyboard.press('Enter')
  await page.getByRole('button', { name: /^Undo: water: temperature 2 64 F/ }).waitFor()
  await page.getByRole('textbox', { name: 'Depth of the bottom' }).fill('90 ft')
  await page.keyboard.press('Enter')
  await page.getByRole('button', { name: /^Undo: water: depth of the bottom 90 ft/ }).waitFor()
  // A scenario that names a file beside it says so, and takes the file when it is picked.
  const named = `${await text(page)}`.replace(
    /^water:\n(?: .*\n)*/m,
    'water: {profile: buoy.ocean} # this week\n',
  )
  expect(named).toContain('profile: buoy.ocean')
  const buoy = readFileSync(new URL('../../../examples/buoy.ocean', import.meta.url))
  await visit(page, 'Share')
  await pick(page, 'Open a file', {
    name: 'named.yaml',
    mimeType: 'text/yaml',
    buffer: Buffer.from(named),
  })
  await pick(page, 'Pick the profile’s file', { name: 'buoy.ocean', mimeType: 'text/plain', buffer: buoy })
  await visit(page, 'Spread')
  await settled(page)
  expect(await text(page)).not.toContain('profile:')
  expect(await text(page)).toMatch(/temperature:[\s\S]*# this week/)
  expect(trouble).toEqual([])
  await context.close()
})

test('on a laptop the current and the heading are set beside the spread', async () => {
  const { page, context, trouble } = await at.fresh('laptop')
  await oneRod(page)
  const side = async () => (await page.locator('.corner-more').textContent()) ?? ''
  await page.locator('.rod-row').first().click()
  const still = await side()
  await page.getByText('Current and heading').click()
  await page.getByRole('button', { name: 'Add a current' }).click()
  await page.getByText('Current at 0 ft', { exact: true }).waitFor()
  await page.getByRole('button', { name: 'direction at 0 ft more 30 deg' }).click()
  await page.getByRole('button', { name: 'direction at 0 ft more 30 deg' }).click()
  await page.getByRole('button', { name: /^Undo: current at 0 ft: toward 60 deg/ }).waitFor()
  await page.getByRole('button', { name: 'Add a depth' }).click()
  await page.getByText('Current at 30 ft', { exact: true }).waitFor()
  await page.getByRole('button', { name: 'current at 30 ft more 0.05 mph' }).click()
  await page.getByRole('button', { name: /^Undo: current at 30 ft: 0.35 mph/ }).waitFor()
  await page.getByRole('button', { name: 'heading more 30 deg' }).click()
  await page.getByRole('button', { name: /^Undo: heading 30 deg/ }).waitFor()
  await settled(page)
  const file = await text(page)
  expect(file).toContain('heading: 30 deg')
  expect(file).toMatch(/toward: 60 deg/)
  expect(await side()).not.toBe(still)
  expect(trouble).toEqual([])
  await context.close()
})
