// A value of the file as text: read and written with its unit.
import { useId, useState } from 'preact/hooks'
import type { FormValue } from '../api'
import * as doc from '../model/doc'
import { isMap } from '../model/form'

/** One value as text, written when the person leaves it. */
export function Field(props: {
  label: string
  path: string
  value: string | undefined
  hint?: string
  what: string
}) {
  const id = useId()
  const [typed, setTyped] = useState<string | null>(null)
  const write = async () => {
    const next = typed?.trim()
    setTyped(null)
    if (next === undefined || next === (props.value ?? '')) return
    if (next === '')
      await doc.edit(
        [{ do: 'remove', path: props.path }],
        `${props.what}: ${props.label.toLowerCase()} as the default`,
      )
    else
      await doc.edit(
        [{ do: 'set', path: props.path, value: scalar(next) }],
        `${props.what}: ${props.label.toLowerCase()} ${next}`,
      )
  }
  return (
    <div class="field">
      <label class="control-label" for={id}>
        {props.label}
      </label>
      <input
        id={id}
        autocomplete="off"
        value={typed ?? props.value ?? ''}
        placeholder={props.hint ?? ''}
        onInput={e => setTyped(e.currentTarget.value)}
        onBlur={() => void write()}
        onKeyDown={e => {
          if (e.key === 'Enter') void write()
          if (e.key === 'Escape') setTyped(null)
        }}
      />
    </div>
  )
}

/** A text as a single YAML value, whatever it holds. */
export function scalar(text: string): string {
  return /^[\w.][\w .%/-]*$/.test(text) ? text : JSON.stringify(text)
}

/** A value of the form as YAML on one line: numbers stay numbers. */
export function flow(v: FormValue): string {
  if (Array.isArray(v)) return `[${v.map(flow).join(', ')}]`
  if (isMap(v))
    return `{${Object.entries(v)
      .map(([k, x]) => `${k}: ${flow(x)}`)
      .join(', ')}}`
  return v === null ? 'null' : scalar(v)
}
