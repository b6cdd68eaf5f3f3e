// The turn, played: over ground from above, and the depths through time.
import { useSignal } from '@preact/signals'
import { useEffect, useLayoutEffect, useMemo, useRef } from 'preact/hooks'
import * as doc from '../model/doc'
import { settings } from '../model/settings'
import { linesAt, type Played, placeAt, poseAt, sampleAt } from '../model/turning'
import { signOf, signPath } from '../plan/signs'
import { Button } from '../ui/controls'
import { capital, FOOT, length, lengthUnit, sideWord, type Units } from '../words'

/** Minutes and seconds, as a person says them. */
export function clock(s: number): string {
  const whole = Math.round(s)
  return `${Math.floor(whole / 60)} min ${String(whole % 60).padStart(2, '0')} s`
}

/** Where everything is at a time. A turn of the same name goes on where the one before was. */
export function Player(props: { turn: Played; name: string; u: Units }) {
  const { turn, u } = props
  const at = useSignal(0) // s
  const playing = useSignal(false)
  const last = turn.until
  const less = () =>
    settings.value.motion === 'less' || matchMedia('(prefers-reduced-motion: reduce)').matches
  useEffect(() => {
    at.value = 0
    playing.value = false
  }, [props.name])
  useEffect(() => {
    if (!playing.value) return
    let frame = 0
    let was = performance.now()
    const speed = less() ? 5 : 12 // of the lake's time
    const step = (now: number) => {
      at.value = Math.min(last, at.value + ((now - was) / 1000) * speed)
      was = now
      if (at.value >= last) playing.value = false
      else frame = requestAnimationFrame(step)
    }
    frame = requestAnimationFrame(step)
    return () => cancelAnimationFrame(frame)
  }, [playing.value, last])
  const name = (id: string) => doc.lines.value.find(l => l.state.rod === id)?.name ?? id
  const { close } = turn
  return (
    <section class="player" aria-label="The turn, played">
      <FromAbove turn={turn} at={sampleAt(turn, at.value)} u={u} />
      <Depths turn={turn} at={sampleAt(turn, at.value)} u={u} />
      <div class="setting-row player-row">
        <Button
          pressed={playing.value}
          onClick={() => {
            if (!playing.value && at.value >= last) at.value = 0
            playing.value = !playing.value
          }}
        >
          {playing.value ? 'Pause' : 'Play'}
        </Button>
        <label class="scrub">
          <span class="control-label">
            Time <b>{clock(at.value)}</b>
            <small> of {clock(last)}</small>
          </span>
          <input
            type="range"
            min="0"
            max={Math.floor(last)}
            step="1"
            value={Math.round(at.value)}
            aria-valuetext={clock(at.value)}
            onInput={e => {
              playing.value = false
              at.value = Number(e.currentTarget.value)
            }}
          />
        </label>
      </div>
      {close.length === 0 ? (
        <p class={turn.first ? 'pending' : ''}>
          No two lines come inside their margins that ran outside of them before
          {turn.first ? ', as far as is known yet' : ''}.
        </p>
      ) : (
        <>
          <h2>Close passes{turn.first && <small class="pending"> (first look)</small>}</h2>
          <ul class="passes">
            {close.map(p => (
              <li key={`${p.a}${p.b}`}>
                <Button
                  onClick={() => {
                    playing.value = false
                    at.value = Math.min(last, p.t_s)
                  }}
                >
                  {clock(p.t_s)}: {capital(name(p.a))} and {name(p.b)}, {length(u, p.distance_m)} apart
                  {p.risk ? `; close in ${p.risk.broken} of ${p.risk.of} worlds` : ''}
                </Button>
              </li>
            ))}
          </ul>
        </>
      )}
    </section>
  )
}

function useWidth() {
  const host = useRef<HTMLDivElement>(null)
  const width = useSignal(0)
  useLayoutEffect(() => {
    const el = host.current
    if (!el) return
    width.value = el.clientWidth // now, not a frame later
    const watch = new ResizeObserver(() => {
      width.value = el.clientWidth
    })
    watch.observe(el)
    return () => watch.disconnect()
  }, [])
  return { host, width: width.value }
}

/** The turn over ground as a box: what is drawn always fits. */
function boxOf(turn: Played) {
  let [x0, x1, y0, y1] = [0, 1, 0, 1]
  const take = (x: number, y: number) => {
    if (x < x0) x0 = x
    if (x > x1) x1 = x
    if (y < y0) y0 = y
    if (y > y1) y1 = y
  }
  for (const b of turn.boat) take(b.x_m, b.y_m)
  for (const t of turn.tracks) {
    for (const { at } of t.points) for (let n = 0; n < at.length; n += 3) take(at[n] ?? 0, at[n + 1] ?? 0)
  }
  return { x0, x1, y0, y1 }
}

/** Over ground from above, the first heading up. */
function FromAbove(props: { turn: Played; at: number; u: Units }) {
  const { turn, at, u } = props
  const { host, width } = useWidth()
  const height = Math.min(420, Math.max(260, width * 0.7))
  const box = useMemo(() => boxOf(turn), [turn])
  const scale = Math.min((width - 16) / (box.y1 - box.y0), (height - 16) / (box.x1 - box.x0))
  const X = (y: number) => width / 2 + (y - (box.y0 + box.y1) / 2) * scale
  const Y = (x: number) => height / 2 - (x - (box.x0 + box.x1) / 2) * scale
  const boat = poseAt(turn, at)
  const path = useMemo(
    () =>
      width > 20 ? `M${turn.boat.map(b => `${X(b.y_m).toFixed(1)} ${Y(b.x_m).toFixed(1)}`).join('L')}` : '',
    [turn, width],
  )
  const bar = u === 'us' ? 100 * FOOT : 30
  return (
    <div class="plan turn-plan" ref={host}>
      {width > 20 && boat && (
        <svg
          width={width}
          height={height}
          role="img"
          aria-label="The turn from above, over ground, the first heading up"
        >
          <rect class="water" width={width} height={height} />
          <path class="boat-path" d={path} />
          <path class="boat-bar" d={`M10 ${height - 12}h${bar * scale}`} />
          <text class="turn-scale" x="10" y={height - 18}>
            {length(u, bar)}
          </text>
          {turn.tracks.map(t => {
            const side = sideWord(t.side)
            const chains = linesAt(turn, t, at).filter(c => c.length > 1)
            if (chains.length === 0) return null
            return (
              <g key={t.key} class={`rod ${side}${t.rod === doc.selected.value ? ' lit' : ''}`}>
                <path
                  class={t.device ? 'cable' : 'line'}
                  d={chains
                    .map(run => `M${run.map(([x, y]) => `${X(y).toFixed(1)} ${Y(x).toFixed(1)}`).join('L')}`)
                    .join('')}
                />
                {t.points.map((p, k) => {
                  const q = k > 0 && placeAt(t, p, at)
                  if (!q) return null
                  return (
                    <path
                      key={p.id}
                      class={p.lure ? 'mark' : 'body'}
                      d={signPath(p.lure ? 'lure' : signOf(p.kind), side)}
                      transform={`translate(${X(q[1]).toFixed(1)} ${Y(q[0]).toFixed(1)})`}
                    />
                  )
                })}
              </g>
            )
          })}
          <path
            class="boat-mark"
            d="M0-10L5 6H-5Z"
            transform={`translate(${X(boat.y)} ${Y(boat.x)}) rotate(${(boat.heading * 180) / Math.PI})`}
          />
          <rect class="frame" x="0.5" y="0.5" width={width - 1} height={height - 1} />
        </svg>
      )}
    </div>
  )
}

/**
 * Each lure's depth through time, with its interval on the leg before the turn and the close
 * passes marked on the time bar.
 */
function Depths(props: { turn: Played; at: number; u: Units }) {
  const { turn, at, u } = props
  const { host, width } = useWidth()
  const height = 206
  const foot = height - 40 // of the plot; below it the close passes, then words
  const left = 34
  const lures = useMemo(
    () => turn.tracks.flatMap(t => t.points.filter(p => p.lure).map(p => ({ t, p }))),
    [turn],
  )
  const deepest = useMemo(() => {
    let z = 3
    for (const { p } of lures) {
      for (let n = 2; n < p.at.length; n += 3) z = Math.max(z, p.at[n] ?? 0)
      z = Math.max(z, p.hi)
    }
    return z * 1.06
  }, [lures])
  const X = (i: number) => left + (i / Math.max(1, turn.last)) * (width - left - 4)
  const Y = (z: number) => 6 + (Math.max(0, z) / deepest) * (foot - 6)
  const per = u === 'us' ? FOOT : 1
  const step = [5, 10, 20, 50, 100].find(s => deepest / (s * per) <= 6) ?? 100
  const marks = Array.from({ length: Math.floor(deepest / (step * per)) + 1 }, (_, i) => i * step)
  // Drawn once for a turn: only the time's mark moves.
  const series = useMemo(
    () =>
      lures.map(({ p }) => {
        let d = ''
        for (let n = 0; 3 * n < p.at.length; n++) {
          d += `${n ? 'L' : 'M'}${X(n).toFixed(1)} ${Y(p.at[3 * n + 2] ?? 0).toFixed(1)}`
        }
        return d
      }),
    [lures, width, deepest],
  )
  const begin = turn.plan.begin_s / turn.every
  return (
    <div class="plan turn-depths" ref={host}>
      {width > 60 && (
        <svg
          width={width}
          height={height}
          role="img"
          aria-label="Depth of each lure through time, with its interval before the turn; triangles on the bar are close passes"
        >
          <rect class="water" x={left} y={6} width={width - left - 4} height={foot - 6} />
          {marks.map(m => (
            <g key={m} class="axes">
              <path class="grid" d={`M${left} ${Y(m * per)}H${width - 4}`} />
              <text x={left - 4} y={Y(m * per) + 4} text-anchor="end">
                {m}
              </text>
            </g>
          ))}
          {lures.map(({ t, p }, k) => {
            const x = X((begin * (k + 0.5)) / lures.length).toFixed(1)
            return (
              <g
                key={t.rod + p.id}
                class={`rod ${sideWord(t.side)}${t.rod === doc.selected.value ? ' lit' : ''}`}
              >
                <path class="leader" d={series[k]} />
                {p.hi > p.lo && (
                  <path class="interval" d={`M${x} ${Y(p.lo).toFixed(1)}V${Y(p.hi).toFixed(1)}`} />
                )}
              </g>
            )
          })}
          {turn.close.map(c => (
            <path
              key={`${c.a}${c.b}`}
              class="close-mark"
              d={`M${X(c.t_s / turn.every)} ${foot + 3}l6 12h-12Z`}
            />
          ))}
          <path class="now" d={`M${X(at)} 4V${foot + 2}`} />
          <text class="turn-scale" x={left} y={height - 6}>
            depth, {lengthUnit(u)}, through time;{' '}
            {turn.first ? 'intervals are being worked out' : 'bars: intervals before the turn'}
          </text>
        </svg>
      )}
    </div>
  )
}
