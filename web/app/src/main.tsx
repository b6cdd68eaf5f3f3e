import './styles/schemes.css'
import './styles/base.css'
import './styles/plan.css'
import './styles/views.css'
import './styles/sheet.css'
import { effect } from '@preact/signals'
import { render } from 'preact'
import { App } from './app'
import { ask } from './engine/client'
import { enterIfUsed } from './log/door'
import * as doc from './model/doc'
import { applySettings, settings } from './model/settings'
import { keepOffline } from './update'

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
  if (doc.text.value === null) doc.resume()
}

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
keepOffline()
enterIfUsed()
