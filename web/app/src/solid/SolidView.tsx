// The spread in space: an extra beside the lines plan, for who wants to walk around it.
import { effect, useSignal } from '@preact/signals'
import { useEffect, useRef } from 'preact/hooks'
import * as doc from '../model/doc'
import { settings } from '../model/settings'
import { Button } from '../ui/controls'
import { byKey, home, presets } from './orbit'
import type { Solid } from './scene'

type State = 'loading' | 'shown' | 'unloaded' | 'cannot'

const still = () => settings.value.motion === 'less' || matchMedia('(prefers-reduced-motion: reduce)').matches

export function SolidView(props: { onBack: () => void }) {
  const canvas = useRef<HTMLCanvasElement>(null)
  const solid = useRef<Solid | undefined>(undefined)
  const state = useSignal<State>('loading')
  const tries = useSignal(0)

  useEffect(() => {
    let over = false
    let stop = () => {}
    state.value = 'loading'
    import('./scene').then(
      ({ Solid }) => {
        const el = canvas.current
        if (over || !el) return
        let made: Solid
        try {
          made = new Solid(el)
        } catch {
          state.value = 'cannot'
          return
        }
        solid.current = made
        const measure = () => made.resize(el.clientWidth, el.clientHeight)
        const watch = new ResizeObserver(measure)
        watch.observe(el)
        let first = true
        measure()
        const end = effect(() => {
          const plan = doc.plan.value
          void settings.value.scheme
          made.show(
            {
              lines: doc.lines.value,
              hull: (plan?.views.find(v => v.id === 'above')?.shapes.find(s => s.class === 'hull')?.points ??
                []) as [number, number][],
              bottom: doc.solved.value?.water?.bottom_m,
              lit: doc.selected.value,
              units: settings.value.units,
            },
            first && doc.lines.value.length > 0,
          )
          if (doc.lines.value.length > 0) first = false
        })
        const lost = (e: Event) => {
          e.preventDefault()
          state.value = 'cannot'
        }
        el.addEventListener('webglcontextlost', lost)
        state.value = 'shown'
        stop = () => {
          end()
          watch.disconnect()
          el.removeEventListener('webglcontextlost', lost)
          solid.current = undefined
          made.end()
        }
      },
      () => {
        if (!over) state.value = 'unloaded'
      },
    )
    return () => {
      over = true
      stop()
    }
  }, [tries.value])

  const fingers = useRef(new Map<number, { x: number; y: number }>())
  const moved = useRef(0)
  const apart = () => {
    const [a, b] = [...fingers.current.values()]
    return a && b ? Math.hypot(a.x - b.x, a.y - b.y) : 0
  }
  const down = (e: PointerEvent) => {
    if (fingers.current.size === 0) moved.current = 0
    fingers.current.set(e.pointerId, { x: e.clientX, y: e.clientY })
    if (e.currentTarget instanceof Element) e.currentTarget.setPointerCapture(e.pointerId)
  }
  const move = (e: PointerEvent) => {
    const was = fingers.current.get(e.pointerId)
    const s = solid.current
    if (!was || !s) return
    const before = apart()
    fingers.current.set(e.pointerId, { x: e.clientX, y: e.clientY })
    const [dx, dy] = [e.clientX - was.x, e.clientY - was.y]
    moved.current += Math.abs(dx) + Math.abs(dy)
    if (fingers.current.size > 1) {
      const now = apart()
      if (before > 0 && now > 0) s.look({ far: s.eye.far * (before / now) })
      return
    }
    s.look({ around: s.eye.around - dx / 140, over: s.eye.over - dy / 140 })
  }
  const up = (e: PointerEvent) => {
    const tap = fingers.current.size === 1 && moved.current < 8 && e.type === 'pointerup'
    fingers.current.delete(e.pointerId)
    const r = canvas.current?.getBoundingClientRect()
    if (tap && r) doc.selected.value = solid.current?.pick(e.clientX - r.left, e.clientY - r.top) ?? null
  }
  const key = (e: KeyboardEvent) => {
    const s = solid.current
    if (!s) return
    if (e.key === 'Home') s.go(home, still())
    else {
      const to = byKey(e.key, s.eye)
      if (!to) return
      s.look(to)
    }
    e.preventDefault()
  }
  const press = (k: string) => () => {
    const s = solid.current
    const to = s && byKey(k, s.eye)
    if (s && to) s.look(to)
  }
  const words = `The spread in space, to scale. ${doc.plan.value?.alt ?? ''}`
  return (
    <section class="solid" aria-label="The spread in space">
      {state.value === 'cannot' && (
        <p class="trouble-words" role="alert">
          This browser cannot draw in three dimensions here. The three views of the lines plan show the same
          spread, with the same numbers.
        </p>
      )}
      {state.value === 'unloaded' && (
        <div role="alert" class="setting-row">
          <p class="trouble-words">The 3-D view has not been loaded yet, and there is no signal to get it.</p>
          <Button onClick={() => tries.value++}>Try again</Button>
        </div>
      )}
      {state.value === 'loading' && <p role="status">Loading the 3-D view…</p>}
      <div
        class={`solid-canvas${state.value === 'cannot' || state.value === 'unloaded' ? ' gone' : ''}`}
        data-shown={state.value === 'shown' ? '' : undefined}
        // biome-ignore lint/a11y/noNoninteractiveTabindex: its keys walk around it, as a finger does
        tabIndex={0}
        role="application"
        aria-label={`${words} Arrow keys walk around it, plus and minus go nearer and farther, Home shows all.`}
        onPointerDown={down}
        onPointerMove={move}
        onPointerUp={up}
        onPointerCancel={up}
        onKeyDown={key}
        onWheel={e => {
          e.preventDefault()
          const s = solid.current
          s?.look({ far: s.eye.far * (e.deltaY > 0 ? 1.1 : 1 / 1.1) })
        }}
      >
        <canvas ref={canvas} aria-hidden="true" />
      </div>
      <div class="solid-bar">
        <Button onClick={props.onBack}>Back to the lines plan</Button>
        {state.value === 'shown' && (
          <>
            <Button label="Walk around it to the left" onClick={press('ArrowLeft')}>
              ←
            </Button>
            <Button label="Walk around it to the right" onClick={press('ArrowRight')}>
              →
            </Button>
            <Button label="Higher" onClick={press('ArrowUp')}>
              ↑
            </Button>
            <Button label="Lower" onClick={press('ArrowDown')}>
              ↓
            </Button>
            <Button label="Nearer" onClick={press('+')}>
              +
            </Button>
            <Button label="Farther" onClick={press('-')}>
              −
            </Button>
            {Object.entries(presets).map(([name, eye]) => (
              <Button key={name} onClick={() => solid.current?.go(eye, still())}>
                {name}
              </Button>
            ))}
            <Button onClick={() => solid.current?.go(home, still())}>all of it</Button>
          </>
        )}
      </div>
      <details class="solid-words">
        <summary>The picture in words</summary>
        <p>{doc.plan.value?.alt}</p>
      </details>
      <p class="plan-note">
        One scale for all directions; marks are larger than the lures are. Upright bars hold the depth 4 times
        in 5. Drag to walk around it, pinch or turn the wheel to come nearer, tap a line to light it up.{' '}
        {doc.isDemo.value && <b>Demo data, invented. </b>}
        Not for navigation.
      </p>
    </section>
  )
}
