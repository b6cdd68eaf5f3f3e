// What the app costs on this machine, printed, not judged: `npm run bench` after a build.
import { afterAll, beforeAll, test } from 'vitest'
import { type House, house, lureAt, settled } from '../e2e/browser'

let at: House
beforeAll(async () => {
  at = await house()
})
afterAll(() => at.close())

const share = (v: number[], p: number) =>
  v.toSorted((a, b) => a - b)[Math.floor(p * (v.length - 1))] ?? Number.NaN
const told = (v: number[]) =>
  `median ${share(v, 0.5).toFixed(1)} ms, p95 ${share(v, 0.95).toFixed(1)} ms of ${v.length}`

test('speed', async () => {
  const { page, context } = await at.fresh('laptop')
  await page.getByRole('button', { name: 'Open the demo (invented data)' }).waitFor()
  let start = Date.now()
  await page.getByRole('button', { name: 'Open the demo (invented data)' }).click()
  await page.locator('.view.side .rod .line').first().waitFor()
  console.log(`demo opened to first drawn: ${Date.now() - start} ms`)
  await settled(page)
  console.log(`demo opened to intervals: ${Date.now() - start} ms`)
  await page.reload()
  start = Date.now()
  await page.goto(at.site.address)
  await page.locator('.view.side .rod .line').first().waitFor()
  console.log(`load to first drawn, served from this machine: ${Date.now() - start} ms`)
  await settled(page)

  await page.evaluate(() => {
    const w = window as unknown as { frames: number[] }
    w.frames = []
    let was = performance.now()
    const step = (now: number) => {
      w.frames.push(now - was)
      was = now
      requestAnimationFrame(step)
    }
    requestAnimationFrame(step)
  })
  const sweep = async (seconds: number) => {
    const from = await lureAt(page, 's-high', 'side')
    await page.mouse.move(from.x, from.y)
    await page.mouse.down()
    const end = Date.now() + seconds * 1000
    for (let i = 0; Date.now() < end; i++) {
      await page.mouse.move(from.x, from.y + 30 * Math.sin(i / 20))
      await page.waitForTimeout(8)
    }
    await page.mouse.up()
    await settled(page)
  }
  await sweep(4) // warms the engine up
  await page.evaluate(() => {
    ;(window as unknown as { frames: number[] }).frames.length = 0
    performance.clearMeasures()
  })
  await sweep(6)
  const { frames, solves } = await page.evaluate(() => ({
    frames: (window as unknown as { frames: number[] }).frames,
    solves: performance.getEntriesByName('drag').map(e => e.duration),
  }))
  console.log(`dragging, touch to answer in the page: ${told(solves)}`)
  console.log(`dragging, between frames: ${told(frames)}`)

  await page.getByRole('navigation', { name: 'Views' }).getByRole('button', { name: 'Turn' }).click()
  for (let i = 0; i < 2; i++) {
    start = Date.now()
    await page.getByRole('button', { name: 'Run the turn' }).click()
    await page.getByText('Working out the turn').waitFor()
    await page.getByText('Working out the turn').waitFor({ state: 'detached' })
    console.log(`a turn of half a circle, five minutes of twelve rods: ${Date.now() - start} ms`)
  }
  await context.close()
})
