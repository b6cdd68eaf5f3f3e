// A drawing of the engine's as a sheet of paper: millimeters, inks by class.
import { useLayoutEffect, useRef } from 'preact/hooks'
import type { Axis, Drawing, Shape, View } from '../api'

type Point = [number, number]

// Sizes of the ink, mm of the sheet: those of the program's own drawings.
const sheetWide = 297
const title = { size: 5.4, margin: 9 }
const viewTitle = 3.4
const label = 3
const tick = 2.8
const baseline = 0.35 // of a line of letters, from its middle down
const barCap = 1.5

const along = (a: Axis, x: number) => (a.from < a.to ? x - a.from : a.from - x)
const mm = (v: number) => String(Math.round(v * 100) / 100)
const path = (points: readonly Point[]) => `M${points.map(p => `${mm(p[0])} ${mm(p[1])}`).join('L')}`

/** The classes of a shape as the style sheet knows them. */
const inks = (c: string) =>
  c
    .split(' ')
    .map(word => `ink-${word}`)
    .join(' ')

const isGround = (s: Shape) => s.kind === 'area' && /\b(water|bottom)\b/.test(s.class)

export function Sheet(props: { drawing: Drawing; wide: number; tall: number; page: string; black: boolean }) {
  const d = props.drawing
  const ref = useRef<SVGSVGElement>(null)
  useLayoutEffect(() => {
    if (ref.current) fitWords(ref.current)
  }, [d])
  const perMM = d.width_m / (d.sheet_mm || sheetWide)
  return (
    <svg
      ref={ref}
      class={`sheet ${props.page}${props.black ? ' black' : ''}`}
      viewBox={`0 0 ${mm(props.wide)} ${mm(props.tall)}`}
      role="img"
      aria-label={d.alt}
    >
      <rect class="ink-paper" width={mm(props.wide)} height={mm(props.tall)} />
      {!d.bare && (
        <text class="ink-strong" x={title.margin} y={title.margin + title.size / 2} font-size={title.size}>
          {d.title}
        </text>
      )}
      {d.views.map(v => (
        <SheetView key={v.id} view={v} perMM={perMM} />
      ))}
    </svg>
  )
}

/**
 * Words are placed for the letters of one font. Where this device has wider ones, a word
 * that would run into the next on its line is set narrower.
 */
function fitWords(sheet: SVGSVGElement) {
  const gap = 0.8
  const words = [...sheet.querySelectorAll<SVGTextElement>('text.ink-page')].map(el => {
    const long = el.getComputedTextLength()
    const x = Number(el.getAttribute('x'))
    const anchor = el.getAttribute('text-anchor')
    const left = anchor === 'end' ? x - long : anchor === 'middle' ? x - long / 2 : x
    return { el, long, left, y: Number(el.getAttribute('y')), starts: anchor === 'start' }
  })
  for (const w of words) {
    if (!w.starts) continue
    const next = Math.min(
      ...words.filter(o => o !== w && Math.abs(o.y - w.y) < 1.6 && o.left > w.left + 0.1).map(o => o.left),
    )
    const room = next - gap - w.left
    if (w.long > room && room > 0.5 * w.long) {
      w.el.setAttribute('textLength', mm(room))
      w.el.setAttribute('lengthAdjust', 'spacingAndGlyphs')
    }
  }
}

function SheetView(props: { view: View; perMM: number }) {
  const { view: v, perMM } = props
  const to = (p: readonly [number, number]): Point => [
    (v.place[0] + along(v.u, p[0])) / perMM,
    (v.place[1] + along(v.v, p[1])) / perMM,
  ]
  const left = v.place[0] / perMM
  const top = v.place[1] / perMM
  const right = left + Math.abs(v.u.to - v.u.from) / perMM
  const low = top + Math.abs(v.v.to - v.v.from) / perMM
  const bare = v.u.ticks.length + v.v.ticks.length === 0
  const shapes = v.shapes ?? []
  const drawn = (list: Shape[]) => list.map((s, i) => <SheetShape key={i} shape={s} to={to} perMM={perMM} />)
  return (
    <g>
      {drawn(shapes.filter(isGround))}
      {v.title && (
        <text x={mm(left)} y={mm(top - 2.6 + baseline * viewTitle)} font-size={viewTitle}>
          {v.title}
        </text>
      )}
      {v.u.ticks.map(t => {
        const x = left + along(v.u, t.at) / perMM
        return (
          <g key={`u${t.at}`} class="ink-quiet">
            <path class="ink-grid" d={`M${mm(x)} ${mm(top)}V${mm(low)}`} />
            <text x={mm(x)} y={mm(low + 2.6 + baseline * tick)} font-size={tick} text-anchor="middle">
              {t.text}
            </text>
          </g>
        )
      })}
      {v.v.ticks.map(t => {
        const y = top + along(v.v, t.at) / perMM
        return (
          <g key={`v${t.at}`} class="ink-quiet">
            <path class="ink-grid" d={`M${mm(left)} ${mm(y)}H${mm(right)}`} />
            <text x={mm(left - 1.6)} y={mm(y + baseline * tick)} font-size={tick} text-anchor="end">
              {t.text}
            </text>
          </g>
        )
      })}
      {v.u.label && (
        <text
          class="ink-quiet"
          x={mm((left + right) / 2)}
          y={mm(low + 6.8 + baseline * tick)}
          font-size={tick}
          text-anchor="middle"
        >
          {v.u.label}
        </text>
      )}
      {v.v.label && (
        <text
          class="ink-quiet"
          transform={`translate(${mm(left - 12 + baseline * tick)} ${mm((top + low) / 2)}) rotate(-90)`}
          font-size={tick}
          text-anchor="middle"
        >
          {v.v.label}
        </text>
      )}
      {!bare && (
        <rect class="ink-frame" x={mm(left)} y={mm(top)} width={mm(right - left)} height={mm(low - top)} />
      )}
      {drawn(shapes.filter(s => s.kind !== 'text' && !isGround(s)))}
      {drawn(shapes.filter(s => s.kind === 'text'))}
    </g>
  )
}

// Signs of a few millimeters around their point, as the program draws them.
const signs: Record<string, string> = {
  'lure port': 'M-.95-.95H.95V.95H-.95Z',
  'lure starboard': 'M0-1.25L1.25.95H-1.25Z',
  lure: 'M-1.1 0a1.1 1.1 0 1 0 2.2 0a1.1 1.1 0 1 0-2.2 0Z',
  ball: 'M-1.1 0a1.1 1.1 0 1 0 2.2 0a1.1 1.1 0 1 0-2.2 0Z',
  diver: 'M-1.3-.7L1.3-.1L1.1.7L-1.3.1Z',
  board: 'M-1.7-.6H1.7V.6H-1.7Z',
  tip: 'M-.5 0a.5.5 0 1 0 1 0a.5.5 0 1 0-1 0Z',
  tick: 'M-.65 0a.65.65 0 1 0 1.3 0a.65.65 0 1 0-1.3 0Z',
  weight: 'M0-1.1L1.1 0L0 1.1L-1.1 0Z',
}

function SheetShape(props: { shape: Shape; to: (p: readonly [number, number]) => Point; perMM: number }) {
  const s = props.shape
  const points = s.points.map(props.to)
  const [p] = points
  if (!p) return null
  const name = inks(s.class)
  const alt = s.alt ? <title>{s.alt}</title> : null
  switch (s.kind) {
    case 'line':
      return (
        <path class={`ink-stroke ${name}`} d={path(points)}>
          {alt}
        </path>
      )
    case 'area':
      return (
        <path class={`ink-area ${name}`} d={`${path(points)}Z`}>
          {alt}
        </path>
      )
    case 'bar': {
      const q = points[1] ?? p
      const long = Math.hypot(q[0] - p[0], q[1] - p[1])
      const [ax, ay] =
        long > 0
          ? [((p[1] - q[1]) / long) * (barCap / 2), ((q[0] - p[0]) / long) * (barCap / 2)]
          : [barCap / 2, 0]
      const cap = ([x, y]: Point): Point[] => [
        [x - ax, y - ay],
        [x + ax, y + ay],
      ]
      return (
        <g class={`ink-stroke ${name}`}>
          <path class="ink-bar" d={path([p, q])}>
            {alt}
          </path>
          <path class="ink-cap" d={path(cap(p)) + path(cap(q))} />
        </g>
      )
    }
    case 'marker': {
      const side = /\b(port|starboard)\b/.exec(s.class)?.[1] ?? ''
      const sign = s.sign ?? ''
      return (
        <g
          class={`ink-sign${/^(lure|tip|tick)$/.test(sign) ? ' ink-full' : ''} ${name}`}
          transform={`translate(${mm(p[0])} ${mm(p[1])})`}
        >
          <path d={signs[`${sign} ${side}`] ?? signs[sign] ?? signs.weight}>{alt}</path>
          {/\btrouble\b/.test(s.class) && sign !== 'tick' && <circle class="ink-ring" r="2" />}
        </g>
      )
    }
    case 'text': {
      const words = s.class.split(' ')
      const size = s.size ? s.size / props.perMM : words.includes('count') ? tick : label
      // A word in the water has its color around it, so that lines pass behind it.
      const halo = !s.size && !words.includes('key')
      return (
        <text
          class={`${halo ? 'ink-halo ' : ''}${name}`}
          x={mm(p[0])}
          y={mm(p[1] + baseline * size)}
          font-size={mm(size)}
          text-anchor={s.anchor === 'middle' || s.anchor === 'end' ? s.anchor : 'start'}
        >
          {alt}
          {s.text}
        </text>
      )
    }
  }
}
