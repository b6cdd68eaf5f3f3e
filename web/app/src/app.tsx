// The shell: name and undo above, the views to choose from below (or at the side).
import { useSignal } from '@preact/signals'
import type { ComponentType } from 'preact'
import { useEffect } from 'preact/hooks'
import { enter, rooms, trouble } from './log/door'
import * as doc from './model/doc'
import { textAt } from './model/form'
import { Button } from './ui/controls'
import { Icon } from './ui/icons'
import { update } from './update'
import { Aim } from './views/aim'
import { later } from './views/later'
import { ProfileButton } from './views/profilebutton'
import { SettingsDialog } from './views/settings'
import { Spread } from './views/spread'
import { Start } from './views/start'
import { view } from './views/view'

const Lay = later(() => import('./views/lay').then(m => m.Lay))
const Turn = later(() => import('./views/turn').then(m => m.Turn))
const Gear = later(() => import('./views/gear').then(m => m.Gear))
const Teach = later(() => import('./views/teach').then(m => m.Teach))
const Share = later(() => import('./views/share').then(m => m.Share))

interface ViewEntry {
  id: string
  text: string
  view: ComponentType
  bare?: boolean // works without a scenario
}

export const views: readonly ViewEntry[] = [
  { id: 'spread', text: 'Spread', view: Spread },
  { id: 'log', text: 'Log', view: LogRoom, bare: true },
  { id: 'aim', text: 'Aim', view: Aim },
  { id: 'lay', text: 'Lay out', view: Lay },
  { id: 'turn', text: 'Turn', view: Turn },
  { id: 'gear', text: 'Gear', view: Gear },
  { id: 'teach', text: 'Teach', view: Teach },
  { id: 'share', text: 'Share', view: Share, bare: true },
]

/** Where a person types, undo is the field's own. */
function takesText(target: EventTarget | null): boolean {
  if (target instanceof HTMLTextAreaElement) return true
  return target instanceof HTMLInputElement && !['range', 'radio', 'checkbox'].includes(target.type)
}

/** The log is loaded when it is first wanted. */
function LogRoom() {
  useEffect(() => void enter(), [])
  const Log = rooms.value?.Log
  return Log ? <Log /> : <p class="loading">{trouble.value || 'Opening the log…'}</p>
}

export function App() {
  const settingsOpen = useSignal(false)
  const entry = views.find(v => v.id === view.value) ?? views[0]!
  const empty = doc.text.value === null
  const View = empty && !entry.bare ? Start : entry.view
  // Another view begins at its top.
  useEffect(() => {
    scrollTo(0, 0)
    document.getElementById('main')?.scrollTo(0, 0)
  }, [entry.id, empty])
  useEffect(() => {
    const key = (e: KeyboardEvent) => {
      if (!(e.ctrlKey || e.metaKey) || e.altKey || takesText(e.target)) return
      if (e.key === 'z' && !e.shiftKey) void doc.undo()
      else if (e.key === 'y' || (e.key === 'z' && e.shiftKey)) void doc.redo()
      else return
      e.preventDefault()
    }
    addEventListener('keydown', key)
    return () => removeEventListener('keydown', key)
  }, [])
  return (
    <>
      <a class="skip" href="#main">
        Skip to the view
      </a>
      <header class="top">
        <p class="top-name">{empty ? 'sternfan' : (textAt(doc.form.value, 'name') ?? 'My spread')}</p>
        {doc.working.value && <span class="working">working</span>}
        <button
          type="button"
          class="button quiet"
          disabled={!doc.undoes.value}
          aria-label={doc.undoes.value ? `Undo: ${doc.undoes.value}` : 'Undo'}
          onClick={() => void doc.undo()}
        >
          <Icon name="undo" />
        </button>
        <button
          type="button"
          class="button quiet"
          disabled={!doc.redoes.value}
          aria-label={doc.redoes.value ? `Redo: ${doc.redoes.value}` : 'Redo'}
          onClick={() => void doc.redo()}
        >
          <Icon name="redo" />
        </button>
        <button
          type="button"
          class="button quiet"
          aria-label="Settings"
          onClick={() => (settingsOpen.value = true)}
        >
          <Icon name="more" />
        </button>
      </header>
      <nav class="views" aria-label="Views">
        {views.map(v => (
          <button
            key={v.id}
            type="button"
            class="view-button"
            aria-current={v.id === entry.id ? 'page' : undefined}
            onClick={() => (view.value = v.id)}
          >
            <Icon name={v.id} />
            <span>{v.text}</span>
          </button>
        ))}
      </nav>
      <main id="main" tabIndex={-1}>
        <Notices />
        <View />
      </main>
      <p class="hidden" aria-live="polite">
        {doc.said.value}
      </p>
      <SettingsDialog open={settingsOpen.value} onClose={() => (settingsOpen.value = false)} />
    </>
  )
}

/** What the person should know or may do now, above the view. */
function Notices() {
  const faults = doc.text.value === null ? [] : doc.faults.value
  return (
    <>
      {update.value && (
        <div class="notice" role="status">
          <p>A new version is ready. Take it when it suits you; your spread is kept.</p>
          <div class="setting-row">
            <Button kind="main" onClick={() => update.value?.()}>
              Take it now
            </Button>
            <Button onClick={() => (update.value = null)}>Later</Button>
          </div>
        </div>
      )}
      {doc.unsaved.value && (
        <div class="notice" role="status">
          <p>
            This device keeps nothing for the app. Save the file or the link under Share before you close it.
          </p>
        </div>
      )}
      {doc.notice.value && (
        <div class="notice" role="status">
          <p>{doc.notice.value}.</p>
          <Button onClick={() => (doc.notice.value = '')}>Good</Button>
        </div>
      )}
      {faults.length > 0 && (
        <div class="notice" role="alert">
          <h2>This file cannot be worked out yet</h2>
          <ul class="warnings">
            {faults.slice(0, 12).map(f => (
              <li key={`${f.path}${f.code}${f.line}`}>
                {f.line ? `Line ${f.line}: ` : ''}
                {doc.faultWords(f)}
              </li>
            ))}
          </ul>
          <div class="setting-row">
            {faults.some(f => f.path === 'water.profile') && <ProfileButton />}
            {doc.undoes.value && <Button onClick={() => void doc.undo()}>Undo: {doc.undoes.value}</Button>}
            <Button onClick={() => doc.close()}>Put it away</Button>
          </div>
        </div>
      )}
    </>
  )
}
