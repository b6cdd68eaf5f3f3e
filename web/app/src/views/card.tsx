// The card to stick at the helm: drawn here, printed by the browser.
import { useSignal } from '@preact/signals'
import { useEffect } from 'preact/hooks'
import type { CardAnswer } from '../api'
import { askLong, Canceled } from '../engine/client'
import * as doc from '../model/doc'
import { settings } from '../model/settings'
import { Sheet } from '../plan/Sheet'
import { Button, Choice } from '../ui/controls'
import { sentence } from '../words'
import { fileName } from './files'

type Page = 'a5' | 'letter'
const papers: { value: Page; text: string }[] = [
  { value: 'a5', text: 'A5' },
  { value: 'letter', text: 'letter' },
]

/** The day as it is printed on the card. */
function today(): string {
  return new Date().toLocaleDateString('en-US', { year: 'numeric', month: 'long', day: 'numeric' })
}

export function Card(props: { name: string }) {
  const page = useSignal<Page>(settings.value.units === 'us' ? 'letter' : 'a5')
  const black = useSignal<'color' | 'black'>('color')
  const wanted = useSignal(false)
  const card = useSignal<(CardAnswer & { page: Page }) | null>(null)
  const done = useSignal(0)
  const said = useSignal('')
  const text = doc.text.value
  const units = settings.value.units

  useEffect(() => {
    if (!wanted.value || text === null) return
    const end = new AbortController()
    const paper = page.value
    done.value = 0
    said.value = 'Drawing the card…'
    void askLong(
      'card',
      { text, units, page: paper, date: today(), file: fileName(props.name, 'yaml') },
      p => {
        if (p.of > 0) done.value = p.done / p.of
      },
      end.signal,
    ).then(
      a => {
        if (end.signal.aborted) return
        card.value = { ...a, page: paper }
        said.value = ''
      },
      e => {
        if (e instanceof Canceled || end.signal.aborted) return
        card.value = null
        said.value = `The card could not be drawn: ${sentence(e instanceof Error ? e.message : String(e))}`
      },
    )
    return () => end.abort()
  }, [wanted.value, text, units, page.value])

  const c = card.value
  return (
    <section aria-labelledby="share-card" class="share-card">
      <h2 id="share-card">A card for the helm</h2>
      <p>
        One page: the rods in the order to set them, what to dial and count, where each runs with its
        interval, and the same a little slower and faster.
      </p>
      <div class="fields">
        <Choice label="Paper" value={page.value} options={papers} onValue={v => (page.value = v)} />
        <Choice
          label="Ink"
          value={black.value}
          options={[
            { value: 'color', text: 'color' },
            { value: 'black', text: 'black only' },
          ]}
          onValue={v => (black.value = v)}
        />
      </div>
      <div class="setting-row">
        {!c && (
          <Button kind="main" disabled={wanted.value && !!said.value} onClick={() => (wanted.value = true)}>
            Draw the card
          </Button>
        )}
        {c && (
          <Button kind="main" disabled={!!said.value} onClick={() => print()}>
            Print the card
          </Button>
        )}
      </div>
      {said.value && <p role="status">{said.value}</p>}
      {said.value.endsWith('…') && <progress aria-label="Drawing the card" max="1" value={done.value} />}
      {c?.drawing && (
        <Sheet
          drawing={c.drawing}
          wide={c.wide_mm}
          tall={c.tall_mm}
          page={c.page}
          black={black.value === 'black'}
        />
      )}
      {c && (
        <p class="plan-note">
          It is shown in the colors of your light, and printed on white. The browser’s print window can also
          save it as a PDF.
        </p>
      )}
    </section>
  )
}
