import { describe, expect, test } from 'vitest'
import { extentOf, layOut, project, steady, ticks } from '../src/plan/frame'
import { isotherms } from '../src/plan/isotherms'
import { placeLabels } from '../src/plan/labels'
import { length, lengthNumber, readLength, readSpeed, span, speed, temperature } from '../src/words'

const extent = { astern: { from: -10, to: 110 }, side: { from: -30, to: 30 }, depth: { from: -2, to: 38 } }
const sheet = { width: 390, height: 480, left: 36, title: 32, axis: 34, gap: 10 }

describe('the frame', () => {
  test('each axis has one scale in both views that show it, and the views line up', () => {
    const f = layOut(extent, sheet)
    const { above, side, astern } = f.boxes
    expect(above?.x).toBe(side?.x)
    expect(above?.w).toBe(side?.w)
    expect(side?.y).toBe(astern?.y)
    expect(side?.h).toBe(astern?.h)
    expect(above?.h).toBeCloseTo(f.scale.side * 60)
    expect(astern?.w).toBeCloseTo(f.scale.side * 60)
    expect((astern?.x ?? 0) + (astern?.w ?? 0)).toBeLessThanOrEqual(390)
    expect((side?.y ?? 0) + (side?.h ?? 0) + sheet.axis).toBeLessThanOrEqual(480)
  })

  test('aft is right, starboard is up from above and right from astern, down is down', () => {
    const f = layOut(extent, sheet)
    const [u0, v0] = project(f, 'side', 0, 0, 0)
    const [u1, v1] = project(f, 'side', -50, 0, 20)
    expect(u1).toBeGreaterThan(u0)
    expect(v1).toBeGreaterThan(v0)
    expect(project(f, 'above', 0, 10, 0)[1]).toBeLessThan(project(f, 'above', 0, -10, 0)[1])
    expect(project(f, 'astern', 0, 10, 0)[0]).toBeGreaterThan(project(f, 'astern', 0, -10, 0)[0])
  })

  test('it stands still while everything fits, and moves when something does not', () => {
    const more = { ...extent, depth: { from: -2, to: 38.5 } }
    expect(steady(extent, more)).toBe(extent)
    expect(steady(extent, { ...extent, depth: { from: -2, to: 60 } }).depth.to).toBe(60)
    expect(steady(extent, { ...extent, depth: { from: -2, to: 10 } }).depth.to).toBe(10)
  })

  test('nothing at all still has an extent', () => {
    const e = extentOf([], [])
    expect(e.depth.to).toBeGreaterThan(e.depth.from)
  })

  test('marks are round numbers of feet, far enough apart', () => {
    const t = ticks({ from: 0, to: 61 }, 2, 'us', 26) // 2 px a meter: 50 ft is 30 px
    expect(t.map(x => x.text)).toEqual(['0', '50', '100', '150', '200'])
  })
})

test('water of equal temperature: crowded where it changes fast', () => {
  // By hand: 70 F at the surface and 50 F at 20 m, straight between.
  const lines = isotherms(
    [
      [0, (70 - 32) / 1.8],
      [20, 10],
    ],
    'us',
  )
  expect(lines.map(l => l.text)).toEqual(['70°F', '65°F', '60°F', '55°F', '50°F'])
  expect(lines[1]?.depth).toBeCloseTo(5)
  expect(isotherms([[0, 10]], 'us')).toEqual([])
})

test('no label stands over another or outside', () => {
  const wishes = Array.from({ length: 12 }, (_, i) => ({
    id: String(i),
    x: 100 + i,
    y: 30 + 14 * i,
    texts: [`P${i} port high diver 43 ft`, `P${i}`],
  }))
  const placed = placeLabels(wishes, 300, 220, 12)
  expect(placed.length).toBe(12)
  const boxes = placed.map(p => {
    const w = p.text.length * 12 * 0.58
    return {
      x0: p.anchor === 'start' ? p.x : p.x - w,
      x1: p.anchor === 'start' ? p.x + w : p.x,
      y0: p.y - 6,
      y1: p.y + 6,
    }
  })
  for (const [i, a] of boxes.entries()) {
    expect(a.x0).toBeGreaterThanOrEqual(0)
    expect(a.x1).toBeLessThanOrEqual(300)
    for (const b of boxes.slice(i + 1))
      expect(a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1).toBe(false)
  }
})

describe('quantities read as in the program', () => {
  // Exact by definition: 1 ft = 0.3048 m, 1 mph = 0.44704 m/s, 32 F = 0 C.
  test('lengths, speeds, temperatures', () => {
    expect(length('us', 30.48)).toBe('100 ft')
    expect(length('si', 30.48)).toBe('30.5 m')
    expect(lengthNumber('us', -0.01)).toBe('0')
    expect(span('us', -1, 3.048)).toBe('0–10')
    expect(speed('us', 1.1176)).toBe('2.5 mph')
    expect(temperature('us', 0)).toBe('32°F')
  })
  test('what a file has is read, what it cannot be is not', () => {
    expect(readLength('160 ft')).toBeCloseTo(48.768)
    expect(readLength('10 colors')).toBeCloseTo(91.44)
    expect(readLength('6 ft 6 in')).toBeUndefined()
    expect(readSpeed('2.4 mph')).toBeCloseTo(1.072896)
    expect(readSpeed('fast')).toBeUndefined()
  })
})
