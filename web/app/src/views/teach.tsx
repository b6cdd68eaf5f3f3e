// One rod, two settings, and the sentence that says what the change does.
import { useSignal } from '@preact/signals'
import { useEffect, useLayoutEffect, useMemo, useRef } from 'preact/hooks'
import type { FormValue } from '../api'
import { askLong, Canceled } from '../engine/client'
import * as doc from '../model/doc'
import { setting } from '../model/edits'
import { isOn, partsBehind, settingKnobs, settingRow, textAt } from '../model/form'
import { settings } from '../model/settings'
import { type Line, linesOf } from '../model/tracks'
import { extentOf, type Frame, layOut, project, type ViewID } from '../plan/frame'
import { Axes, Ground, LineShapes } from '../plan/LinesPlan'
import { Button, Choice, Select } from '../ui/controls'
import { length, plain, readSpeed, speed } from '../words'
import { difference } from './compare'

interface Topic {
  id: string
  text: string
  path: string
  options: { value: string; text: string }[] // as written in the file, and as said
  a: string
  b: string
}

/** What can be compared on a rod, with two settings to begin with. */
function topicsOf(form: FormValue, rod: string, u: 'us' | 'si'): Topic[] {
  const s = `rods.${rod}.settings`
  const out: Topic[] = []
  const at = (path: string) => textAt(form, path)
  const dial = at(`${s}.dial`)
  if (dial !== undefined) {
    const { min, max, step } = settingRow('dial').us!
    const marks = Array.from({ length: (max - min) / step + 1 }, (_, i) => String(min + i * step))
    out.push({
      id: 'dial',
      text: 'dial',
      path: `${s}.dial`,
      options: marks.map(m => ({ value: m, text: `dial ${m}` })),
      a: '1',
      b: '3',
    })
    const ring = isOn(at(`${s}.ring`)) ? 'on' : 'off'
    out.push({
      id: 'ring',
      text: 'ring',
      path: `${s}.ring`,
      options: [
        { value: 'off', text: 'the ring off' },
        { value: 'on', text: 'the ring on' },
      ],
      a: ring,
      b: ring === 'on' ? 'off' : 'on',
    })
  }
  for (const k of settingKnobs(form, rod, u)) {
    const unit = k.unit || 'colors'
    const write = (v: number) => (k.unit ? `${Number(v.toFixed(1))} ${k.unit}` : String(v))
    const now = Number(k.value.toFixed(k.step < 1 ? 1 : 0))
    const round = k.unit ? (u === 'us' ? 10 : 5) : 1
    const values = [
      ...new Set(
        [0.5, 0.75, 1, 1.25, 1.5, 2].map(m =>
          m === 1 ? now : Math.max(round, Math.round((now * m) / round) * round),
        ),
      ),
    ]
    if (now > 0 && values.length > 1) {
      const options = values
        .sort((p, q) => p - q)
        .map(v => ({ value: write(v), text: `${v} ${unit} ${k.row.label.toLowerCase()}` }))
      const b = options.find(o => Number.parseFloat(o.value) > now) ?? options[0]
      out.push({
        id: k.path,
        text: k.row.label.toLowerCase(),
        path: k.path,
        options,
        a: write(now),
        b: b?.value ?? write(now),
      })
    }
  }
  const gearTopic = (key: string, path: string, text: string, kind = key) => {
    const now = at(path)
    const names = doc.gear.value.find(g => g.kind === kind)
    if (now === undefined || !names) return
    const options = [...names.own, ...names.built_in].map(g => ({ value: g.id, text: plain(g.id) }))
    if (!options.some(o => o.value === now)) options.unshift({ value: now, text: plain(now) })
    out.push({ id: key, text, path, options, a: now, b: options.find(o => o.value !== now)?.value ?? now })
  }
  gearTopic('line', `rods.${rod}.rig.line`, 'kind of line')
  const attractor = partsBehind(form, rod).find(p => p.key === 'attractor')
  if (attractor) gearTopic('attractor', attractor.path, 'attractor')
  const lure = partsBehind(form, rod).find(p => p.key === 'lure')
  if (lure) gearTopic('lure', lure.path, 'lure')
  const mps = readSpeed(at('speed.value') ?? '')
  if (mps !== undefined) {
    const options = [-0.6, -0.3, 0, 0.3, 0.6].map(d => {
      const v = mps + d * 0.44704
      const value = u === 'us' ? `${(v / 0.44704).toFixed(1)} mph` : `${v.toFixed(2)} m/s`
      return { value, text: speed(u, v) }
    })
    out.push({
      id: 'speed',
      text: 'speed',
      path: 'speed.value',
      options,
      a: options[2]?.value ?? '',
      b: options[4]?.value ?? '',
    })
  }
  return out
}

const idleSeconds = 90

export function Teach() {
  const rods = doc.lines.value.filter(l => !l.device)
  const rod = useSignal<string | null>(null)
  const topicID = useSignal<string | null>(null)
  const picked = useSignal<{ a?: string; b?: string }>({})
  const answer = useSignal<{ a: Line; b: Line } | null>(null)
  const said = useSignal('')
  const counter = useSignal(false)
  const u = settings.value.units
  const form = doc.form.value
  const id =
    (rods.some(r => r.id === rod.value) ? rod.value : null) ??
    (rods.find(r => textAt(form, `rods.${r.id}.settings.dial`)) ?? rods[0])?.id ??
    ''
  const topics = useMemo(() => topicsOf(form, id, u), [form, id, u, doc.gear.value])
  const topic = topics.find(t => t.id === topicID.value) ?? topics[0]
  const a = picked.value.a ?? topic?.a ?? ''
  const b = picked.value.b ?? topic?.b ?? ''
  const words = (v: string) => topic?.options.find(o => o.value === v)?.text ?? v
  const text = doc.text.value

  useEffect(() => {
    if (!topic || text === null) return
    const end = new AbortController()
    const run = async (value: string): Promise<Line | undefined> => {
      const solved = await askLong(
        'spread',
        { text, edits: setting(form, [[topic.path, value]]), units: u, intervals: true, curves: true },
        undefined,
        end.signal,
      )
      return linesOf(solved).find(l => l.id === id)
    }
    void (async () => {
      try {
        const [la, lb] = [await run(a), await run(b)]
        if (end.signal.aborted || !la || !lb) return
        answer.value = { a: la, b: lb }
        said.value = difference(u, la.state, lb.state, words(a), words(b))
      } catch (e) {
        if (!(e instanceof Canceled) && !end.signal.aborted)
          said.value = e instanceof Error ? `This cannot be compared: ${e.message}.` : ''
      }
    })()
    return () => end.abort()
  }, [text, u, id, topic?.id, a, b])

  const reset = () => {
    rod.value = null
    topicID.value = null
    picked.value = {}
  }
  useEffect(() => {
    if (!counter.value) return
    let timer = setTimeout(reset, idleSeconds * 1000)
    const touched = () => {
      clearTimeout(timer)
      timer = setTimeout(reset, idleSeconds * 1000)
    }
    const left = () => {
      if (!document.fullscreenElement) counter.value = false
    }
    addEventListener('pointerdown', touched)
    addEventListener('keydown', touched)
    document.addEventListener('fullscreenchange', left)
    return () => {
      clearTimeout(timer)
      removeEventListener('pointerdown', touched)
      removeEventListener('keydown', touched)
      document.removeEventListener('fullscreenchange', left)
    }
  }, [counter.value])
  const onCounter = async () => {
    if (counter.value) {
      counter.value = false
      if (document.fullscreenElement) await document.exitFullscreen()
      return
    }
    try {
      await document.documentElement.requestFullscreen()
    } catch {
      // A browser that shows no full screen still resets itself.
    }
    counter.value = true
  }

  if (!topic) return <p class="page">Working it out…</p>
  const fewer = topic.options.length <= 3
  const pick = (label: string, value: string, key: 'a' | 'b') =>
    fewer ? (
      <Choice
        label={label}
        value={value}
        options={topic.options}
        onValue={v => (picked.value = { ...picked.value, [key]: v })}
      />
    ) : (
      <Select
        label={label}
        value={value}
        options={topic.options}
        onValue={v => (picked.value = { ...picked.value, [key]: v })}
      />
    )
  return (
    <div class="teach">
      <section class="teach-words" aria-label="What to compare">
        <h1>What does it do?</h1>
        <Select
          label="Rod"
          value={id}
          options={rods.map(r => ({ value: r.id, text: `${r.tag} ${r.name}` }))}
          onValue={v => {
            rod.value = v
            topicID.value = null
            picked.value = {}
          }}
        />
        <Select
          label="Change its"
          value={topic.id}
          options={topics.map(t => ({ value: t.id, text: t.text }))}
          onValue={v => {
            topicID.value = v
            picked.value = {}
          }}
        />
        {pick('A, thin', a, 'a')}
        {pick('B, bold', b, 'b')}
        <p class="teach-sentence" role="status">
          {said.value || 'Working it out…'}
        </p>
        <div class="setting-row">
          <Button pressed={counter.value} onClick={() => void onCounter()}>
            Counter screen
          </Button>
          <Button onClick={reset}>Begin again</Button>
        </div>
        <p class="plan-note">
          The counter screen fills the display and begins again when nobody has touched it for {idleSeconds}{' '}
          seconds. Depths are worked out, not measured. {doc.isDemo.value && <b>Demo data, invented. </b>}Not
          for navigation.
        </p>
      </section>
      {answer.value && <Overlay a={answer.value.a} b={answer.value.b} />}
    </div>
  )
}

/** Both settings in one picture: from the side and from astern. */
function Overlay(props: { a: Line; b: Line }) {
  const host = useRef<HTMLDivElement>(null)
  const size = useSignal({ width: 0, height: 0, em: 16 })
  const u = settings.value.units
  useLayoutEffect(() => {
    const el = host.current
    if (!el) return
    const measure = () => {
      size.value = {
        width: el.clientWidth,
        height: el.clientHeight,
        em: Number.parseFloat(getComputedStyle(el).fontSize) || 16,
      }
    }
    const watch = new ResizeObserver(measure)
    watch.observe(el)
    measure()
    return () => watch.disconnect()
  }, [])
  const { width, height, em } = size.value
  const water = doc.solved.value?.water
  const frames = useMemo(() => {
    if (width < 50) return []
    const extent = extentOf([props.a, props.b], [], water?.bottom_m)
    const left = 2.3 * em
    const across = width - 2 * left
    const part = { side: left + 0.62 * across, astern: left + 0.38 * across }
    return (['side', 'astern'] as const).map((view, i) => {
      const frame = layOut(
        extent,
        { width: part[view], height, left, title: 1.6 * em, axis: 2.3 * em, gap: 0 },
        view,
      )
      return { view: view as ViewID, frame, x: i === 0 ? 0 : part.side }
    })
  }, [width, height, em, props.a, props.b, water])
  return (
    <div class="plan teach-plan" ref={host}>
      <svg
        width={width}
        height={height}
        role="img"
        aria-label="The two settings overlaid, from the side and from astern"
      >
        {frames.map(({ view, frame, x }) => {
          const box = frame.boxes[view]!
          return (
            <g key={view} transform={`translate(${x} 0)`}>
              <text class="teach-title" x={box.x} y={1.1 * em}>
                from {view === 'side' ? 'the side' : 'astern'}
              </text>
              <Axes frame={frame} view={view} units={u} both />
              <svg x={box.x} y={box.y} width={box.w} height={box.h} class="view">
                <Ground
                  frame={frame}
                  view={view}
                  units={u}
                  hull={[]}
                  profile={(water?.temperature_c ?? []) as [number, number][]}
                  bottom={water?.bottom_m}
                />
                <LineShapes line={props.a} frame={frame} view={view} lit={false} dim={false} />
                <LineShapes line={props.b} frame={frame} view={view} lit dim={false} />
                <Marks line={props.a} other={props.b} letter="A" frame={frame} view={view} em={em} />
                <Marks line={props.b} other={props.a} letter="B" frame={frame} view={view} em={em} />
              </svg>
              <rect class="frame" x={box.x} y={box.y} width={box.w} height={box.h} />
            </g>
          )
        })}
      </svg>
    </div>
  )
}

/** The letter and depth beside a lure, on the side away from the other one. */
function Marks(props: { line: Line; other: Line; letter: string; frame: Frame; view: ViewID; em: number }) {
  const lure = props.line.state.lures[0]
  const other = props.other.state.lures[0]
  if (!lure || !other) return null
  const [x, y] = project(props.frame, props.view, -lure.astern_m, lure.side_m, lure.depth_m)
  const box = props.frame.boxes[props.view]!
  const start = x < box.w * 0.55
  const up = lure.depth_m < other.depth_m || (lure.depth_m === other.depth_m && props.letter === 'A')
  return (
    <g class="labels" aria-hidden="true">
      <text
        class={props.line.side}
        x={x + (start ? 14 : -14)}
        y={y + (up ? -0.6 : 1.2) * props.em}
        text-anchor={start ? 'start' : 'end'}
      >
        {props.letter} {length(settings.value.units, Math.max(0, lure.depth_m))}
      </text>
    </g>
  )
}
