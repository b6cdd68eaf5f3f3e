// Words on the plan: the lines' labels, isotherms and the bottom.
import { believed, type Line } from '../model/tracks'
import { length, type Units } from '../words'
import { type Frame, project, type ViewID } from './frame'
import { isotherms } from './isotherms'
import { placeLabels, type Wish } from './labels'

export function Labels(props: {
  lines: Line[]
  frame: Frame
  view: ViewID
  units: Units
  em: number
  lit: string | null
  full: boolean
}) {
  const { frame, view, units, em } = props
  const box = frame.boxes[view]!
  const wishes: Wish[] = []
  const sides = new Map<string, Line>()
  // The lit rod's label finds room first.
  const ordered = [...props.lines].sort((a, b) => Number(b.id === props.lit) - Number(a.id === props.lit))
  for (const l of ordered) {
    if (l.device || !believed(l)) continue
    sides.set(l.id, l)
    l.state.lures.forEach((lure, i) => {
      if (i > 0 && view !== 'side') return
      const [x, y] = project(frame, view, -lure.astern_m, lure.side_m, lure.depth_m)
      const deep = length(units, Math.max(0, lure.depth_m))
      const tag = `${l.tag} ${deep}`
      const texts =
        view !== 'side'
          ? [l.tag]
          : props.full && i === 0
            ? [`${l.tag} ${l.name} ${deep}`, tag, l.tag]
            : [tag, l.tag]
      wishes.push({ id: `${l.id} ${i}`, x, y, texts })
    })
  }
  const size = 0.78 * em
  return (
    <g class="labels" aria-hidden="true">
      {placeLabels(wishes, box.w, box.h, size).map(p => {
        const l = sides.get(p.id.slice(0, p.id.lastIndexOf(' ')))
        return (
          <text
            key={p.id}
            class={`${l?.side}${l?.id === props.lit ? ' lit' : ''}`}
            x={p.x}
            y={p.y + 0.34 * size}
            text-anchor={p.anchor}
          >
            {p.text}
          </text>
        )
      })}
    </g>
  )
}

export function WaterWords(props: {
  frame: Frame
  view: ViewID
  units: Units
  profile: [number, number][]
  bottom: number | undefined
  em: number
}) {
  const { frame, view, units, em } = props
  const box = frame.boxes[view]!
  const y = (z: number) => project(frame, view, 0, 0, z)[1]
  let last = Number.NEGATIVE_INFINITY
  const below = props.bottom !== undefined && y(props.bottom) >= box.h
  return (
    <g class="water-words" aria-hidden="true">
      {view === 'side' &&
        isotherms(props.profile, units).map(t => {
          const at = y(t.depth)
          if (at - last < 0.9 * em || at > box.h - (below ? em : 4)) return null
          last = at
          return (
            <text key={t.depth} x={box.w - 4} y={at - 3} text-anchor="end">
              {t.text}
            </text>
          )
        })}
      {view === 'side' && props.bottom !== undefined && (
        <text x="6" y={below ? box.h - 6 : Math.min(box.h - 6, y(props.bottom) + em)}>
          bottom {length(units, props.bottom)}
          {below ? ' ↓' : ''}
        </text>
      )}
    </g>
  )
}
