import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { devices, type House, house, oneRod, openDemo, settled, soon, visit } from './browser'

let at: House
beforeAll(async () => {
  at = await house()
})
afterAll(() => at.close())

describe.each(devices)('on a %s', device => {
  test('aim: a depth is asked for, a way is taken, and the lure runs there', async () => {
    const { page, context, trouble } = await at.fresh(device)
    await openDemo(page)
    await visit(page, 'Aim')
    await page.getByLabel('Rod', { exact: true }).selectOption({ label: 'S6 starboard high diver' })
    await page.getByLabel(/^Depth wanted/).fill('60')
    await page.keyboard.press('Enter')
    const way = page.locator('.way').first()
    await way.waitFor()
    expect(await way.textContent()).toMatch(/\d+ ft deep \(\d+–\d+ ft\), \d+ ft to starboard/)
    // A touch in the view from astern asks for a side too.
    const box = await page.locator('.reach-plan .view').boundingBox()
    if (!box) throw new Error('no view from astern')
    const place = { x: box.x + box.width * 0.62, y: box.y + box.height * 0.5 }
    if (device === 'phone') await page.touchscreen.tap(place.x, place.y)
    else await page.mouse.click(place.x, place.y)
    const oneSide = page.getByRole('switch', { name: /At one side only/ })
    await soon(() => oneSide.getAttribute('aria-checked')).toBe('true')
    await oneSide.click()
    await page.getByLabel(/^Depth wanted/).fill('60')
    await page.keyboard.press('Enter')
    await page.getByRole('heading', { name: /ways? to 60 ft/ }).waitFor()
    await page
      .getByRole('button', { name: /^Set it so/ })
      .first()
      .click()
    await soon(async () => {
      const deep = Number.parseFloat((await page.locator('.rod-row.lit .rod-deep b').textContent()) ?? '')
      return Math.abs(deep - 60)
    }).toBeLessThanOrEqual(1)
    await settled(page)
    await visit(page, 'Aim')
    await page.getByText('Same as a setting heard').click()
    await page.getByLabel(/^What was said/).fill('wire, large, dial 2, 180')
    await page.getByRole('button', { name: 'Find it on my rods' }).click()
    await page.getByText(/^Taken as: diver-large, wire-30, dial 2, 180 ft out/).waitFor()
    for (const text of await page.locator('.heard .way').allTextContents()) {
      expect(text).toMatch(/\d+ ft deep \(\d+–\d+ ft\)/)
    }
    // Out of reach: how near it comes has its interval too.
    await page.getByLabel('Rod', { exact: true }).selectOption({ label: 'P3 port board' })
    await page.getByLabel(/^Depth wanted/).fill('150')
    await page.keyboard.press('Enter')
    await page.getByText(/^It comes as near as \d+ ft deep \(\d+–\d+ ft\): /).waitFor()
    expect(trouble).toEqual([])
    await context.close()
  })

  test('lay out: a plan is made and taken; one rod is set again', async () => {
    const { page, context, trouble } = await at.fresh(device)
    await oneRod(page)
    await visit(page, 'Lay out')
    await page.getByRole('button', { name: 'Add a band' }).click()
    await page.getByText('Band 1').waitFor()
    await page.getByRole('button', { name: 'Lay it out' }).click()
    await page.getByRole('button', { name: 'Take plan 1' }).click()
    const undo = page.getByRole('button', { name: /^Undo: took plan 1/ })
    await undo.waitFor()
    await soon(() => page.locator('.rod-list').textContent()).toContain('starboard rod')
    await undo.click()
    await undo.waitFor({ state: 'detached' })
    await settled(page)
    await visit(page, 'Lay out')
    await page.getByText('Set one rod again').click()
    await page.getByRole('button', { name: 'How does it go out?' }).click()
    await page.getByText(/^Set the starboard rod as it was/).waitFor()
    await visit(page, 'Spread')
    await settled(page)
    expect(trouble).toEqual([])
    await context.close()
  })

  test('turn: it plays, scrubs and says what comes close', async () => {
    const { page, context, trouble } = await at.fresh(device)
    await oneRod(page)
    await visit(page, 'Turn')
    await page.getByRole('radio', { name: 'starboard' }).check()
    await page.getByRole('button', { name: 'Run the turn' }).click()
    const time = page.getByLabel(/^Time/)
    await time.waitFor()
    await page.getByText('bars: intervals before the turn').waitFor()
    await soon(() => page.locator('.turn-depths .interval').count()).toBeGreaterThan(0)
    await page.getByRole('button', { name: 'Play' }).click()
    await page.waitForFunction(
      () => Number(document.querySelector<HTMLInputElement>('.scrub input')?.value) > 5,
    )
    await page.getByRole('button', { name: 'Pause' }).click()
    await time.fill('30')
    await soon(() => time.getAttribute('aria-valuetext')).toBe('0 min 30 s')
    await page.getByText('No two lines come inside their margins').waitFor()
    await page.getByRole('radio', { name: '90°' }).check()
    await page.getByText('What is shown is another turn than the one chosen above').waitFor()
    await page.getByRole('button', { name: 'Run the turn' }).click()
    await page.getByText('What is shown is another turn').waitFor({ state: 'detached' })
    await page.getByRole('button', { name: /^How often/ }).click()
    await page.getByText(/in \d+ of 40 sampled worlds/).waitFor()
    await page.getByRole('button', { name: 'How tight, each side?' }).click()
    await page.getByText(/^To port: .*(margins hold|keeps the margins)/).waitFor()
    await page.getByText(/^To starboard: .*(margins hold|keeps the margins)/).waitFor()
    expect(trouble).toEqual([])
    await context.close()
  })

  test('turn: on the demo it is scrubbed while the rest of it is worked out', async () => {
    const { page, context, trouble } = await at.fresh(device)
    await openDemo(page)
    await visit(page, 'Turn')
    await page.getByRole('radio', { name: '90°' }).check()
    // What the page says and shows at every change, since the first look may be a short one.
    await page.evaluate(() => {
      const seen: { status: string; bars: number; note: string }[] = []
      ;(window as unknown as { seen: typeof seen }).seen = seen
      new MutationObserver(() => {
        const text = (q: string) => document.querySelector(q)?.textContent ?? ''
        const now = {
          status: text('.turn-words [role=status]'),
          bars: document.querySelectorAll('.turn-depths .interval').length,
          note: text('.turn-depths text.turn-scale'),
        }
        seen.push(now)
        const scrub = document.querySelector<HTMLInputElement>('.scrub input')
        if (scrub && scrub.value === '0' && now.status.startsWith('A first look')) {
          scrub.value = '47'
          scrub.dispatchEvent(new Event('input', { bubbles: true }))
        }
      }).observe(document.body, { subtree: true, childList: true, characterData: true })
    })
    await page.getByRole('button', { name: 'Run the turn' }).click()
    await page.getByText('bars: intervals before the turn').waitFor()
    await page.getByText(/^To starboard: /).waitFor()
    await soon(() => page.locator('.turn-words [role=status]').textContent()).toBe('')
    const seen = await page.evaluate(
      () => (window as unknown as { seen: { status: string; bars: number; note: string }[] }).seen,
    )
    const first = seen.filter(s => s.status.startsWith('A first look: nominal') && s.note !== '')
    expect(first.length).toBeGreaterThan(0)
    expect(first[0]?.bars).toBe(0)
    expect(first[0]?.note).toContain('intervals are being worked out')
    expect(await page.locator('.turn-depths .interval').count()).toBeGreaterThanOrEqual(12)
    // The whole of it came in the first look's place, and left the time where the finger had put it.
    expect(await page.getByLabel(/^Time/).getAttribute('aria-valuetext')).toBe('0 min 47 s')
    await page
      .locator('.passes')
      .or(page.getByText('No two lines come inside their margins'))
      .first()
      .waitFor()
    expect(trouble).toEqual([])
    await context.close()
  })

  test('boat and gear: a rod, a line of one’s own, a slip told in words', async () => {
    const { page, context, trouble } = await at.fresh(device)
    await oneRod(page)
    await visit(page, 'Gear')
    await page.getByRole('button', { name: 'Add this rod' }).click()
    await page.getByText('Port diver', { exact: true }).first().waitFor()
    await page.getByText(/^Lines: 0 of your own/).click()
    await page.getByRole('button', { name: 'Add line of your own' }).click()
    await page.locator('legend', { hasText: 'My mono 12' }).waitFor()
    const diameter = page.getByRole('textbox', { name: 'Diameter' })
    await diameter.fill('0.35 mm')
    await page.keyboard.press('Enter')
    await page.getByRole('button', { name: /^Undo: my mono 12: diameter 0.35 mm/ }).waitFor()
    await diameter.fill('thin')
    await page.keyboard.press('Enter')
    await page.locator('.page .trouble-words').waitFor()
    await soon(() => diameter.inputValue()).toBe('0.35 mm')
    await page.getByRole('button', { name: 'Copy port diver' }).click()
    await page.getByRole('button', { name: /^Undo: copied port diver/ }).waitFor()
    await visit(page, 'Spread')
    await settled(page)
    await soon(() => page.locator('.rod-list ul').first().locator('.rod-row').count()).toBe(3)
    expect(trouble).toEqual([])
    await context.close()
  })

  test('teach: the sentence says what a ring does, with its numbers', async () => {
    const { page, context, trouble } = await at.fresh(device)
    await oneRod(page)
    await visit(page, 'Teach')
    await page.getByLabel('Change its').selectOption({ label: 'ring' })
    await page
      .getByText(
        /^With the ring off the spoon runs \d+ ft deep \(\d+–\d+ ft 4 times in 5\); with the ring on \d+ ft deep/,
      )
      .waitFor()
    await page.getByRole('button', { name: 'Begin again' }).click()
    await page.getByText(/^With dial 1 the spoon runs/).waitFor()
    // On a counter it fills the screen, and left alone it begins again.
    await page.clock.install()
    await page.getByRole('button', { name: 'Counter screen' }).click()
    await page.waitForFunction(() => document.fullscreenElement !== null)
    await page.getByLabel('Change its').selectOption({ label: 'ring' })
    await page.getByText(/^With the ring off the spoon runs/).waitFor()
    await page.clock.fastForward(91_000)
    await page.getByText(/^With dial 1 the spoon runs/).waitFor()
    await page.getByRole('button', { name: 'Counter screen', pressed: true }).click()
    await page.waitForFunction(() => document.fullscreenElement === null)
    expect(trouble).toEqual([])
    await context.close()
  })

  test('on the demo a plan is taken, a rod is copied, and a ring is taught', async () => {
    const { page, context, trouble } = await at.fresh(device)
    await openDemo(page)
    await visit(page, 'Lay out')
    await page.getByRole('button', { name: 'Lay it out' }).click()
    await page.getByRole('button', { name: 'Take plan 1' }).click({ timeout: 240_000 })
    await page.getByRole('button', { name: /^Undo: took plan 1/ }).click()
    await settled(page)
    const had = await page.locator('.rod-list ul').first().locator('.rod-row').count()
    await visit(page, 'Gear')
    await page.getByRole('button', { name: /^Copy (S6 )?starboard high diver$/ }).click()
    await page.getByRole('button', { name: /^Undo: copied (S6 )?starboard high diver/ }).waitFor()
    await visit(page, 'Spread')
    await settled(page)
    await soon(() => page.locator('.rod-list ul').first().locator('.rod-row').count()).toBe(had + 1)
    await visit(page, 'Teach')
    await page.getByLabel('Rod', { exact: true }).selectOption({ label: 'S6 starboard high diver' })
    await page.getByLabel('Change its').selectOption({ label: 'ring' })
    await page
      .getByText(
        /^With the ring off the spoon runs \d+ ft deep \(\d+–\d+ ft 4 times in 5\); with the ring on \d+ ft deep/,
      )
      .waitFor()
    expect(trouble).toEqual([])
    await context.close()
  })

  test('an empty start says in every view what to do first', async () => {
    const { page, context, trouble } = await at.fresh(device)
    for (const name of ['Spread', 'Aim', 'Lay out', 'Turn', 'Gear', 'Teach']) {
      await visit(page, name)
      await page.getByRole('heading', { name: 'Where do your lures run?' }).waitFor()
      expect(await page.getByRole('button', { name: 'Show where it runs' }).isVisible()).toBe(true)
    }
    await visit(page, 'Share')
    await page.getByText('Nothing is set yet').waitFor()
    expect(await page.getByRole('button', { name: 'Open a file' }).isVisible()).toBe(true)
    // Whichever view it was set from, that view works with the one rod.
    await visit(page, 'Gear')
    await page.getByRole('button', { name: 'Show where it runs' }).click()
    await page.getByRole('heading', { name: 'Boat and gear' }).waitFor()
    for (const [name, heading] of [
      ['Aim', 'Aim'],
      ['Lay out', 'Lay out'],
      ['Turn', 'Turn'],
      ['Teach', 'What does it do?'],
      ['Share', 'Share “My spread”'],
    ] as [string, string][]) {
      await visit(page, name)
      await page.getByRole('heading', { name: heading, level: 1 }).waitFor()
    }
    expect(trouble).toEqual([])
    await context.close()
  })
})
