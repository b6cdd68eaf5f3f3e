// What a turn does to the spread: play it, scrub it, see when lines come close.
import { useSignal } from '@preact/signals'
import { useEffect, useLayoutEffect, useMemo, useRef } from 'preact/hooks'
import type { Tightest, Turn as TurnResult, TurnTrack } from '../api'
import { askLong, Canceled } from '../engine/client'
import * as doc from '../model/doc'
import { textAt } from '../model/form'
import { settings } from '../model/settings'
import { signOf, signPath } from '../plan/signs'
import { Button, Choice, Stepper } from '../ui/controls'
import { capital, FOOT, length, lengthUnit, readLength, sentence, sideWord, type Units } from '../words'

const anglesDeg = ['90', '180', '270']

/** Minutes and seconds, as a person says them. */
export function clock(s: number): string {
  const whole = Math.round(s)
  return `${Math.floor(whole / 60)} min ${String(whole % 60).padStart(2, '0')} s`
}

export function Turn() {
  const u = settings.value.units
  const form = doc.form.value
  const to = useSignal<'port' | 'starboard'>(
    textAt(form, 'manoeuvre.to') === 'starboard' ? 'starboard' : 'port',
  )
  const angle = useSignal<string>('180')
  const radius = useSignal(readLength(textAt(form, 'manoeuvre.radius') ?? '') ?? 300 * FOOT)
  const answer = useSignal<{ turn: TurnResult; words: string[] } | null>(null)
  const tight = useSignal<Tightest[] | null>(null)
  const busy = useSignal('')
  const trouble = useSignal('')
  const ending = useRef<AbortController | undefined>(undefined)
  useEffect(() => () => ending.current?.abort(), [])
  const text = doc.text.value
  useEffect(() => {
    answer.value = null
    tight.value = null
  }, [text])

  const request = () => ({
    text: doc.text.value ?? '',
    units: u,
    to: to.value === 'port' ? -1 : 1,
    angle_rad: (Number(angle.value) * Math.PI) / 180,
    radius_m: radius.value,
    before_s: 60,
    after_s: 120,
    every_s: 1,
  })
  const run = async (what: 'turn' | 'tightest') => {
    await doc.commit()
    ending.current?.abort()
    const end = new AbortController()
    ending.current = end
    busy.value = what
    trouble.value = ''
    try {
      if (what === 'turn') {
        const got = await askLong('turn', request(), undefined, end.signal)
        if (!end.signal.aborted && got.turn) answer.value = { turn: got.turn, words: got.words }
      } else {
        const got = await askLong('tightest', request(), undefined, end.signal)
        if (!end.signal.aborted) tight.value = got.sides
      }
    } catch (e) {
      if (!(e instanceof Canceled)) trouble.value = e instanceof Error ? sentence(e.message) : ''
    }
    if (ending.current === end) busy.value = ''
  }
  const per = u === 'us' ? FOOT : 1
  return (
    <div class="turn">
      <section class="turn-words" aria-label="Which turn">
        <h1>Turn</h1>
        <Choice
          label="To"
          value={to.value}
          options={[
            { value: 'port', text: 'port' },
            { value: 'starboard', text: 'starboard' },
          ]}
          onValue={v => (to.value = v)}
        />
        <Choice
          label="How far"
          value={angle.value}
          options={anglesDeg.map(a => ({ value: a, text: `${a}°` }))}
          onValue={v => (angle.value = v)}
        />
        <Stepper
          label="Radius"
          hint="through the surface water"
          value={Math.round(radius.value / per)}
          unit={lengthUnit(u)}
          digits={0}
          min={u === 'us' ? 30 : 10}
          max={u === 'us' ? 2000 : 600}
          step={u === 'us' ? 10 : 5}
          big={10}
          onValue={v => (radius.value = v * per)}
        />
        <div class="setting-row">
          <Button kind="main" disabled={busy.value !== ''} onClick={() => void run('turn')}>
            Run the turn
          </Button>
          <Button disabled={busy.value !== ''} onClick={() => void run('tightest')}>
            How tight, each side?
          </Button>
          {busy.value !== '' && <Button onClick={() => ending.current?.abort()}>Stop</Button>}
        </div>
        <p role="status">
          {busy.value === 'turn' ? 'Working out the turn…' : busy.value ? 'Trying radii to both sides…' : ''}
        </p>
        {trouble.value && (
          <p class="trouble-words" role="alert">
            <b>! </b>
            {trouble.value}
          </p>
        )}
        {tight.value && <TightWords sides={tight.value} u={u} />}
        {answer.value?.words.map((w, i) => (
          <p key={w} class={i === 0 ? 'turn-first' : ''}>
            {sentence(w)}
          </p>
        ))}
        <p class="plan-note">
          Lines only, not sea state or traffic: a boat with lines out must still keep a look-out and give way.
          Depths hold within their intervals 4 times in 5. {doc.isDemo.value && <b>Demo data, invented. </b>}
          Not for navigation.
        </p>
      </section>
      {answer.value && <Player turn={answer.value.turn} u={u} />}
    </div>
  )
}

function TightWords(props: { sides: Tightest[]; u: Units }) {
  const name = (id: string | undefined) => doc.lines.value.find(l => l.state.rod === id)?.name ?? id ?? ''
  return (
    <ul class="warnings">
      {props.sides.map(s => (
        <li key={s.to}>
          <b>To {s.to < 0 ? 'port' : 'starboard'}: </b>
          {s.radius_m > 0
            ? `down to ${length(props.u, s.radius_m)} radius the margins hold; ${((s.angle_rad * 180) / Math.PI).toFixed(0)}° take ${clock(s.time_s)}.`
            : 'no radius that was tried keeps the margins.'}
          {s.gives && ` Tighter, the ${name(s.gives.a)} and the ${name(s.gives.b)} come too close first.`}
        </li>
      ))}
    </ul>
  )
}

/** Where everything is at a sample: over ground from above, and the depths through time. */
function Player(props: { turn: TurnResult; u: Units }) {
  const { turn, u } = props
  const at = useSignal(0)
  const playing = useSignal(false)
  const last = turn.boat.length - 1
  const time = (i: number) => turn.boat[i]?.t_s ?? 0
  const close = useMemo(
    () => turn.pairs.filter(p => p.ratio < 1 && p.ratio < p.first_ratio - 0.02).slice(0, 8),
    [turn],
  )
  const less = () =>
    settings.value.motion === 'less' || matchMedia('(prefers-reduced-motion: reduce)').matches
  useEffect(() => {
    at.value = 0
  }, [turn])
  useEffect(() => {
    if (!playing.value) return
    let frame = 0
    let was = performance.now()
    let part = at.value
    const speed = less() ? 5 : 12 // of the lake's time
    const step = (now: number) => {
      part += ((now - was) / 1000) * (speed / turn.every_s)
      was = now
      at.value = Math.min(last, Math.floor(part))
      if (part >= last) playing.value = false
      else frame = requestAnimationFrame(step)
    }
    frame = requestAnimationFrame(step)
    return () => cancelAnimationFrame(frame)
  }, [playing.value])
  const name = (id: string) => doc.lines.value.find(l => l.state.rod === id)?.name ?? id
  const index = (t: number) => Math.min(last, Math.max(0, Math.round(t / turn.every_s)))
  return (
    <section class="player" aria-label="The turn, played">
      <FromAbove turn={turn} at={at.value} u={u} />
      <Depths turn={turn} at={at.value} u={u} close={close.map(c => c.t_s)} />
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
            Time <b>{clock(time(at.value))}</b>
            <small> of {clock(time(last))}</small>
          </span>
          <input
            type="range"
            min="0"
            max={last}
            step="1"
            value={at.value}
            aria-valuetext={clock(time(at.value))}
            onInput={e => {
              playing.value = false
              at.value = Number(e.currentTarget.value)
            }}
          />
        </label>
      </div>
      {close.length === 0 ? (
        <p>No two lines come inside their margins that ran outside of them before.</p>
      ) : (
        <>
          <h2>Close passes</h2>
          <ul class="passes">
            {close.map(p => (
              <li key={`${p.a}${p.b}`}>
                <Button
                  onClick={() => {
                    playing.value = false
                    at.value = index(p.t_s)
                  }}
                >
                  {clock(p.t_s)}: {capital(name(p.a))} and {name(p.b)}, {length(u, p.distance_m)} apart
                  {p.risk ? `; close ${p.risk.broken} times in ${p.risk.of}` : ''}
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
    const watch = new ResizeObserver(() => {
      width.value = el.clientWidth
    })
    watch.observe(el)
    return () => watch.disconnect()
  }, [])
  return { host, width: width.value }
}

const placeAt = (t: TurnTrack, p: number, i: number) =>
  t.points[p]?.at_m[Math.min(i, t.points[p].at_m.length - 1)]

/** A line over ground as it lies at a sample, chain by chain; its chords where nothing better is known. */
function curves(turn: TurnResult, t: TurnTrack, i: number): [number, number][][] {
  const every = turn.shapes_every ?? 0
  const boat = turn.boat[i]
  if (!boat || every < 1 || !t.shapes_cm) {
    const chords = t.points.map((_, p) => placeAt(t, p, i)).filter(q => q !== undefined)
    return [chords.map(q => [q[0], q[1]])]
  }
  const [cos, sin] = [Math.cos(boat.heading_rad), Math.sin(boat.heading_rad)]
  return t.shapes_cm.map(chain => {
    const flat = chain[Math.min(Math.floor(i / every), chain.length - 1)] ?? []
    const out: [number, number][] = []
    for (let k = 0; k + 2 < flat.length; k += 3) {
      const [x, y] = [(flat[k] ?? 0) / 100, (flat[k + 1] ?? 0) / 100]
      out.push([boat.x_m + cos * x - sin * y, boat.y_m + sin * x + cos * y])
    }
    return out
  })
}

/** Over ground from above, the first heading up. */
function FromAbove(props: { turn: TurnResult; at: number; u: Units }) {
  const { turn, at, u } = props
  const { host, width } = useWidth()
  const height = Math.min(420, Math.max(260, width * 0.7))
  const box = useMemo(() => {
    let [x0, x1, y0, y1] = [0, 1, 0, 1]
    const take = (x: number, y: number) => {
      x0 = Math.min(x0, x)
      x1 = Math.max(x1, x)
      y0 = Math.min(y0, y)
      y1 = Math.max(y1, y)
    }
    for (const b of turn.boat) take(b.x_m, b.y_m)
    for (const t of turn.tracks) for (const p of t.points) for (const q of p.at_m) take(q[0], q[1])
    return { x0, x1, y0, y1 }
  }, [turn])
  const scale = Math.min((width - 16) / (box.y1 - box.y0), (height - 16) / (box.x1 - box.x0))
  const X = (y: number) => width / 2 + (y - (box.y0 + box.y1) / 2) * scale
  const Y = (x: number) => height / 2 - (x - (box.x0 + box.x1) / 2) * scale
  const boat = turn.boat[at]
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
            const chains = curves(turn, t, at).filter(c => c.length > 1)
            if (chains.length === 0) return null
            return (
              <g
                key={t.rod + (t.device ? '/' : '')}
                class={`rod ${side}${t.rod === doc.selected.value ? ' lit' : ''}`}
              >
                <path
                  class={t.device ? 'cable' : 'line'}
                  d={chains
                    .map(run => `M${run.map(([x, y]) => `${X(y).toFixed(1)} ${Y(x).toFixed(1)}`).join('L')}`)
                    .join('')}
                />
                {t.points.map((p, k) => {
                  const q = placeAt(t, k, at)
                  if (!q || k === 0) return null
                  const sign = p.lure ? 'lure' : signOf(p.kind)
                  return (
                    <path
                      key={p.id}
                      class={p.lure ? 'mark' : 'body'}
                      d={signPath(sign, side)}
                      transform={`translate(${X(q[1])} ${Y(q[0])})`}
                    />
                  )
                })}
              </g>
            )
          })}
          <path
            class="boat-mark"
            d="M0-10L5 6H-5Z"
            transform={`translate(${X(boat.y_m)} ${Y(boat.x_m)}) rotate(${(boat.heading_rad * 180) / Math.PI})`}
          />
          <rect class="frame" x="0.5" y="0.5" width={width - 1} height={height - 1} />
        </svg>
      )}
    </div>
  )
}

/** Each lure's depth through time, with the close passes marked on the time bar. */
function Depths(props: { turn: TurnResult; at: number; u: Units; close: number[] }) {
  const { turn, at, u } = props
  const { host, width } = useWidth()
  const height = 150
  const left = 34
  const lures = useMemo(
    () => turn.tracks.flatMap(t => t.points.filter(p => p.lure).map(p => ({ t, p }))),
    [turn],
  )
  const deepest = useMemo(
    () => Math.max(3, ...lures.flatMap(({ p }) => p.at_m.map(q => q[2]))) * 1.06,
    [lures],
  )
  const n = turn.boat.length - 1
  const X = (i: number) => left + (i / Math.max(1, n)) * (width - left - 4)
  const Y = (z: number) => 6 + (Math.max(0, z) / deepest) * (height - 26)
  const per = u === 'us' ? FOOT : 1
  const step = [5, 10, 20, 50, 100].find(s => deepest / (s * per) <= 5) ?? 100
  const marks = Array.from({ length: Math.floor(deepest / (step * per)) + 1 }, (_, i) => i * step)
  return (
    <div class="plan turn-depths" ref={host}>
      {width > 60 && (
        <svg
          width={width}
          height={height}
          role="img"
          aria-label="Depth of each lure through time; triangles on the bar are close passes"
        >
          <rect class="water" x={left} y={6} width={width - left - 4} height={height - 26} />
          {marks.map(m => (
            <g key={m} class="axes">
              <path class="grid" d={`M${left} ${Y(m * per)}H${width - 4}`} />
              <text x={left - 4} y={Y(m * per) + 4} text-anchor="end">
                {m}
              </text>
            </g>
          ))}
          {lures.map(({ t, p }) => (
            <g
              key={t.rod + p.id}
              class={`rod ${sideWord(t.side)}${t.rod === doc.selected.value ? ' lit' : ''}`}
            >
              <path
                class="leader"
                d={`M${p.at_m.map((q, i) => `${X(i).toFixed(1)} ${Y(q[2]).toFixed(1)}`).join('L')}`}
              />
            </g>
          ))}
          {props.close.map(t => (
            <path key={t} class="close-mark" d={`M${X(t / turn.every_s)} ${height - 20}l6 12h-12Z`} />
          ))}
          <path class="now" d={`M${X(at)} 4V${height - 18}`} />
          <text class="turn-scale" x={left} y={height - 4}>
            depth, {lengthUnit(u)}, through time
          </text>
        </svg>
      )}
    </div>
  )
}
