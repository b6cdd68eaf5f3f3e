// The few controls everything is made of: large, labeled, told apart without color.
import type { ComponentChildren } from 'preact'
import { useEffect, useId, useRef, useState } from 'preact/hooks'

export function Button(props: {
  children: ComponentChildren
  onClick: () => void
  kind?: 'main' | 'plain' | 'quiet'
  disabled?: boolean
  label?: string
  pressed?: boolean
}) {
  return (
    <button
      type="button"
      class={`button ${props.kind ?? 'plain'}`}
      onClick={props.onClick}
      disabled={props.disabled}
      aria-label={props.label}
      aria-pressed={props.pressed}
    >
      {props.children}
    </button>
  )
}

/** A number between two large buttons; the number itself can be typed. Hold to repeat. */
export function Stepper(props: {
  label: string
  name?: string // of the buttons, where the label alone does not tell one from another
  hint?: string
  value: number
  unit: string
  digits: number
  min: number
  max: number
  step: number
  big?: number // a second pair of buttons
  onValue: (value: number) => void
}) {
  const id = useId()
  const [typed, setTyped] = useState<string | null>(null)
  const repeat = useRef<ReturnType<typeof setTimeout> | undefined>(undefined)
  const latest = useRef(props)
  latest.current = props
  useEffect(() => () => clearTimeout(repeat.current), [])
  const by = (steps: number) => {
    const p = latest.current
    const unitSteps = Math.round((p.value + steps * p.step) / p.step) * p.step
    const next = Math.min(p.max, Math.max(p.min, unitSteps))
    if (next !== p.value) p.onValue(next)
  }
  const hold = (steps: number) => ({
    onClick: () => by(steps),
    onPointerDown: (e: PointerEvent) => {
      if (e.button !== 0) return
      const again = () => {
        by(steps)
        repeat.current = setTimeout(again, 110)
      }
      repeat.current = setTimeout(again, 450)
    },
    onPointerUp: () => clearTimeout(repeat.current),
    onPointerLeave: () => clearTimeout(repeat.current),
    onPointerCancel: () => clearTimeout(repeat.current),
    onContextMenu: (e: Event) => e.preventDefault(),
  })
  const shown = typed ?? props.value.toFixed(props.digits)
  const take = () => {
    if (typed === null) return
    const value = Number.parseFloat(typed.replace(',', '.'))
    setTyped(null)
    if (Number.isFinite(value)) props.onValue(Math.min(props.max, Math.max(props.min, value)))
  }
  const name = props.name ?? props.label.toLowerCase()
  return (
    <div class="stepper">
      <label class="control-label" for={id}>
        {props.label}
        {props.hint && <small> {props.hint}</small>}
      </label>
      <div class="stepper-row">
        {props.big && (
          <button
            type="button"
            class="button plain"
            aria-label={`${name} less ${props.big * props.step} ${props.unit}`}
            {...hold(-props.big)}
          >
            −{props.big * props.step}
          </button>
        )}
        <button
          type="button"
          class="button plain"
          aria-label={`${name} less ${props.step} ${props.unit}`}
          {...hold(-1)}
        >
          −
        </button>
        <span class="stepper-value">
          <input
            id={id}
            inputMode="decimal"
            autocomplete="off"
            value={shown}
            size={Math.max(3, shown.length)}
            onInput={e => setTyped(e.currentTarget.value)}
            onBlur={take}
            onKeyDown={e => {
              if (e.key === 'Enter') take()
              if (e.key === 'Escape') setTyped(null)
              if (e.key === 'ArrowUp') by(1)
              if (e.key === 'ArrowDown') by(-1)
            }}
          />
          <span class="unit">{props.unit}</span>
        </span>
        <button
          type="button"
          class="button plain"
          aria-label={`${name} more ${props.step} ${props.unit}`}
          {...hold(1)}
        >
          +
        </button>
        {props.big && (
          <button
            type="button"
            class="button plain"
            aria-label={`${name} more ${props.big * props.step} ${props.unit}`}
            {...hold(props.big)}
          >
            +{props.big * props.step}
          </button>
        )}
      </div>
    </div>
  )
}

/** One of a few, all in sight. */
export function Choice<T extends string>(props: {
  label: string
  value: T
  options: readonly { value: T; text: string }[]
  onValue: (value: T) => void
}) {
  const name = useId()
  return (
    <fieldset class="choice">
      <legend class="control-label">{props.label}</legend>
      <div class="choice-row">
        {props.options.map(o => (
          <label key={o.value} class="choice-option">
            <input
              type="radio"
              name={name}
              value={o.value}
              checked={props.value === o.value}
              onChange={() => props.onValue(o.value)}
            />
            <span>{o.text}</span>
          </label>
        ))}
      </div>
    </fieldset>
  )
}

/** One of many. */
export function Select(props: {
  label: string
  value: string
  options: readonly { value: string; text: string; group?: string }[]
  onValue: (value: string) => void
}) {
  const id = useId()
  const groups = [...new Set(props.options.map(o => o.group ?? ''))]
  const item = (o: { value: string; text: string }) => (
    <option key={o.value} value={o.value} selected={o.value === props.value}>
      {o.text}
    </option>
  )
  return (
    <div class="select">
      <label class="control-label" for={id}>
        {props.label}
      </label>
      <select id={id} value={props.value} onChange={e => props.onValue(e.currentTarget.value)}>
        {groups.map(g => {
          const items = props.options.filter(o => (o.group ?? '') === g).map(item)
          return g ? (
            <optgroup key={g} label={g}>
              {items}
            </optgroup>
          ) : (
            items
          )
        })}
      </select>
    </div>
  )
}

/** On or off, said in words. */
export function Toggle(props: { label: string; on: boolean; onValue: (on: boolean) => void }) {
  return (
    <button
      type="button"
      class="button toggle"
      role="switch"
      aria-checked={props.on}
      onClick={() => props.onValue(!props.on)}
    >
      <span>{props.label}</span>
      <b>{props.on ? 'on' : 'off'}</b>
    </button>
  )
}

/** A dialog that closes by its button, Escape or a tap beside it. */
export function Dialog(props: {
  title: string
  open: boolean
  onClose: () => void
  children: ComponentChildren
}) {
  const ref = useRef<HTMLDialogElement>(null)
  const title = useId()
  useEffect(() => {
    const d = ref.current
    if (props.open && d && !d.open) d.showModal()
    if (!props.open && d?.open) d.close()
  }, [props.open])
  if (!props.open) return null
  return (
    // biome-ignore lint/a11y/useKeyWithClickEvents: Escape closes a dialog by itself
    <dialog
      ref={ref}
      aria-labelledby={title}
      onClose={props.onClose}
      onClick={e => {
        if (e.target === ref.current) props.onClose()
      }}
    >
      <div class="dialog-body">
        <div class="dialog-head">
          <h2 id={title}>{props.title}</h2>
          <Button onClick={props.onClose}>Close</Button>
        </div>
        {props.children}
      </div>
    </dialog>
  )
}
