import './styles/schemes.css'
import './styles/base.css'
import './styles/plan.css'
import './styles/views.css'
import './styles/sheet.css'
import { effect } from '@preact/signals'
import { render } from 'preact'
import { App } from './app'
import { ask, quickEngine, wholeEngine } from './engine/client'
import { enterIfUsed } from './log/door'
import * as doc from './model/doc'
import { applySettings, settings } from './model/settings'
import { keepOffline } from './update'
import { firstRod } from './views/newrod'
import { view } from './views/view'

/** Opens what the link carries, or what was open last. */
async function begin(): Promise<void> {
  const payload = location.hash.slice(1)
  if (/^\d+\./.test(payload)) {
    history.replaceState(null, '', location.pathname + location.search)
    const resumed = doc.text.value !== null || doc.resume()
    try {
      const { text } = await ask('unlink', { payload })
      await doc.open(text, resumed ? 'opened a link' : '')
    } catch (e) {
      doc.notice.value = `The link could not be opened${e instanceof Error ? `: ${e.message}` : ''}`
    }
    return
  }
  if (doc.text.value === null && !doc.resume()) warmUp()
}

/** While nothing is open the engine solves a rod for nobody: the first time is the slowest. */
function warmUp(): void {
  ask('spread', { text: firstRod('diver', 120, 2.4), curves: true, boat: true }).catch(() => {})
}

void quickEngine().catch(() => {}) // whoever asks it first hears what went wrong
applySettings()
const root = document.getElementById('app')
if (root) {
  root.textContent = ''
  render(<App />, root)
}
void begin()
addEventListener('hashchange', () => void begin())
let units = settings.value.units
effect(() => {
  if (settings.value.units !== units) {
    units = settings.value.units
    void doc.refresh()
  }
})
effect(() => {
  // What these views ask needs the whole engine: it loads while the person chooses.
  if (['aim', 'lay', 'turn'].includes(view.value)) void wholeEngine().catch(() => {})
})
keepOffline()
enterIfUsed()
