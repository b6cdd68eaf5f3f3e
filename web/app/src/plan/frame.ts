// Where the three views stand and how large a meter is drawn. Each of the three axes has
// one scale, shared by the two views that show it.
import type { Line } from '../model/tracks'
import { FOOT, type Units } from '../words'

export interface Range {
  from: number
  to: number
}

export interface Extent {
  astern: Range
  side: Range
  depth: Range
}

export type ViewID = 'side' | 'above' | 'astern'

export interface Box {
  x: number
  y: number
  w: number
  h: number
}

const wide = (r: Range) => r.to - r.from

/** The extent that holds all lines and the hull, with room to breathe. */
export function extentOf(
  lines: readonly Line[],
  hull: readonly (readonly [number, number])[],
  bottom?: number,
): Extent {
  const e: Extent = { astern: { from: -1, to: 20 }, side: { from: -5, to: 5 }, depth: { from: -2, to: 8 } }
  const take = (r: Range, v: number) => {
    if (!Number.isFinite(v)) return
    if (v < r.from) r.from = v
    if (v > r.to) r.to = v
  }
  for (const [astern, side] of hull) {
    take(e.astern, astern)
    take(e.side, side)
  }
  for (const l of lines) {
    for (const c of l.curves) {
      for (let i = 0; i + 2 < c.points.length; i += 3) {
        take(e.astern, -(c.points[i] as number))
        take(e.side, c.points[i + 1] as number)
        take(e.depth, c.points[i + 2] as number)
      }
    }
    for (const b of [...l.state.lures, ...l.state.bodies]) {
      take(e.astern, b.astern_m)
      take(e.side, b.side_m)
      take(e.depth, b.depth_m)
      take(e.depth, b.depth_hi_m)
    }
  }
  const half = 1.1 * Math.max(Math.abs(e.side.from), Math.abs(e.side.to))
  e.side = { from: -half, to: half }
  e.astern.from -= 0.03 * wide(e.astern)
  e.astern.to += 0.06 * wide(e.astern)
  e.depth.from -= 0.04 * wide(e.depth)
  e.depth.to += 0.12 * wide(e.depth)
  if (bottom !== undefined && bottom < 1.5 * e.depth.to) e.depth.to = Math.max(e.depth.to, 1.06 * bottom)
  return e
}

/** The old extent while it serves: a picture that jumps cannot be followed. */
export function steady(was: Extent | undefined, now: Extent): Extent {
  if (!was) return now
  const keep = (a: Range, b: Range): Range =>
    b.from >= a.from - 0.02 * wide(a) && b.to <= a.to + 0.02 * wide(a) && wide(a) <= 1.35 * wide(b) ? a : b
  const out = {
    astern: keep(was.astern, now.astern),
    side: keep(was.side, now.side),
    depth: keep(was.depth, now.depth),
  }
  return out.astern === was.astern && out.side === was.side && out.depth === was.depth ? was : out
}

export interface Frame {
  extent: Extent
  boxes: Partial<Record<ViewID, Box>>
  corner?: Box // the free corner beside the view from above
  scale: { astern: number; side: number; depth: number } // px by m
}

export interface Sheet {
  width: number
  height: number
  left: number // room for the depth axis
  title: number // above each view
  axis: number // below a view
  gap: number
}

/** Lays out one view alone or all three around the free corner. */
export function layOut(extent: Extent, sheet: Sheet, only?: ViewID): Frame {
  const { width, height, left, title, axis, gap } = sheet
  const a = wide(extent.astern)
  const s = wide(extent.side)
  const d = wide(extent.depth)
  if (only) {
    const box = {
      x: left,
      y: title,
      w: Math.max(40, width - left - 4),
      h: Math.max(40, height - title - axis),
    }
    const frame: Frame = { extent, boxes: { [only]: box }, scale: { astern: 1, side: 1, depth: 1 } }
    if (only === 'side') frame.scale = { astern: box.w / a, side: 1, depth: box.h / d }
    if (only === 'astern') frame.scale = { astern: 1, side: box.w / s, depth: box.h / d }
    if (only === 'above') frame.scale = { astern: box.w / a, side: box.h / s, depth: 1 }
    return frame
  }
  const across = width - left - gap - 4
  const down = height - 2 * title - axis
  // The corner is square, so that the side axis has one scale in both of its views.
  const square = Math.max(60, Math.min(0.36 * across, 0.42 * down))
  const above: Box = { x: left, y: title, w: Math.max(40, across - square), h: square }
  const side: Box = { x: left, y: 2 * title + square, w: above.w, h: Math.max(40, down - square) }
  const astern: Box = { x: left + above.w + gap, y: side.y, w: square, h: side.h }
  return {
    extent,
    boxes: { above, side, astern },
    corner: { x: astern.x, y: above.y, w: square, h: square },
    scale: { astern: above.w / a, side: square / s, depth: side.h / d },
  }
}

/** A point of the boat frame in a view's pixels, from the view's corner. */
export function project(f: Frame, view: ViewID, x: number, y: number, z: number): [number, number] {
  const u =
    view === 'astern' ? (y - f.extent.side.from) * f.scale.side : (-x - f.extent.astern.from) * f.scale.astern
  // Starboard is up in the view from above: the bow points left.
  const v =
    view === 'above' ? (f.extent.side.to - y) * f.scale.side : (z - f.extent.depth.from) * f.scale.depth
  return [u, v]
}

export interface Tick {
  at: number // m
  text: string
}

/** Round marks in the person's unit, at least so many pixels apart. */
export function ticks(r: Range, scale: number, units: Units, apart: number): Tick[] {
  const per = units === 'us' ? FOOT : 1
  const least = apart / (scale * per)
  const power = 10 ** Math.floor(Math.log10(least))
  const step = [1, 2, 5, 10].map(m => m * power).find(m => m >= least * 0.999) ?? 10 * power
  const out: Tick[] = []
  for (let i = Math.ceil(r.from / per / step); i <= r.to / per / step && out.length < 100; i++) {
    const v = i * step
    out.push({ at: v * per, text: String(Number(v.toPrecision(6))) })
  }
  return out
}
