// A line of text with its label, for the log's forms.
import { useId } from 'preact/hooks'

export function Field(props: {
  label: string
  value: string
  number?: boolean
  hint?: string
  onValue: (value: string) => void
}) {
  const id = useId()
  return (
    <div class="field">
      <label class="control-label" for={id}>
        {props.label}
        {props.hint && <small> {props.hint}</small>}
      </label>
      <input
        id={id}
        autocomplete="off"
        inputMode={props.number ? 'decimal' : 'text'}
        value={props.value}
        onInput={e => props.onValue(e.currentTarget.value)}
      />
    </div>
  )
}
