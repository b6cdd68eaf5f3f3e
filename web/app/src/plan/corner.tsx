// The plan's free corner: the lit rod in large figures, or the key.
import { useLayoutEffect, useRef } from 'preact/hooks'
import * as doc from '../model/doc'
import { length, lengthNumber, lengthUnit, sideWords, span, type Units } from '../words'
import { signPath } from './signs'

/** The free corner reads out the lit rod; while none is, it holds the key. */
export function Corner(props: { box: { x: number; y: number; w: number; h: number }; units: Units }) {
  const ref = useRef<HTMLDivElement>(null)
  const { box, units } = props
  useLayoutEffect(() => {
    const s = ref.current?.style
    for (const [k, v] of Object.entries({ left: box.x, top: box.y, width: box.w, height: box.h }))
      s?.setProperty(k, `${v}px`)
  }, [box.x, box.y, box.w, box.h])
  const line = doc.selectedLine.value
  const lure = line?.state.lures[0] ?? line?.state.bodies[0]
  return (
    <div class="corner" ref={ref}>
      {line && lure ? (
        <>
          <p class={`corner-name ${line.side}`}>
            {line.tag} {line.name}
          </p>
          <p class="corner-depth">
            {lengthNumber(units, Math.max(0, lure.depth_m))} <small>{lengthUnit(units)} deep</small>
          </p>
          <p class={`corner-span${line.pending ? ' pending' : ''}`}>
            {span(units, lure.depth_lo_m, lure.depth_hi_m)} {lengthUnit(units)}, 4 times in 5
          </p>
          <p class="corner-more">
            {sideWords(units, lure.side_m)}, {length(units, lure.astern_m)} astern
          </p>
        </>
      ) : (
        <Key />
      )}
    </div>
  )
}

/** What shapes and dashes mean. */
function Key() {
  return (
    <ul class="key" aria-label="Key">
      {(['port', 'middle', 'starboard'] as const).map(side => (
        <li key={side}>
          <svg viewBox="14 0 32 16" aria-hidden="true" class="key-sign">
            <g class={`rod ${side}`}>
              <path class="line" d="M0 8H36" />
              <path class="mark" d={signPath('lure', side)} transform="translate(38 8)" />
            </g>
          </svg>
          {side === 'port' ? 'P' : side === 'middle' ? 'M' : 'S'} {side}
        </li>
      ))}
      <li>
        <svg viewBox="14 0 32 16" aria-hidden="true" class="key-sign">
          <g class="rod middle">
            <path class="interval" d="M34 1h8M38 1V15M34 15h8" />
          </g>
        </svg>
        4 times in 5
      </li>
      <li>
        <svg viewBox="14 0 32 16" aria-hidden="true" class="key-sign">
          <g class="near">
            <circle cx="38" cy="8" r="5.5" />
          </g>
        </svg>
        trouble
      </li>
    </ul>
  )
}
