// A value of the file as text: read and written with its unit.
import { useId, useState } from 'preact/hooks'
import * as doc from '../model/doc'

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
    const what = `${props.what}: ${props.label.toLowerCase()}`
    if (next === '') await doc.remove(props.path, `${what} as the default`)
    else await doc.put(props.path, next, `${what} ${next}`)
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
