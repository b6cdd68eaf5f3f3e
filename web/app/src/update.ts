// The service worker: keeps the app on the device, and offers a new version when there is one.
import { signal } from '@preact/signals'
import { Workbox } from 'workbox-window'
import * as doc from './model/doc'

/** Takes the new version; null while there is none. */
export const update = signal<(() => void) | null>(null)
/** Whether the app is kept on this device for use without a signal. */
export const offline = signal<'no' | 'yes' | 'cannot'>('no')

export function keepOffline(): void {
  if (!import.meta.env.PROD) return
  if (!('serviceWorker' in navigator) || !isSecureContext) {
    offline.value = 'cannot'
    return
  }
  const worker = new Workbox(new URL('sw.js', document.baseURI).href)
  worker.addEventListener('waiting', () => {
    update.value = () => {
      worker.addEventListener('controlling', () => location.reload())
      void doc.commit().then(() => worker.messageSkipWaiting())
    }
  })
  worker.addEventListener('activated', () => (offline.value = 'yes'))
  void worker.register().then(
    r => {
      if (r?.active) offline.value = 'yes'
    },
    () => (offline.value = 'cannot'),
  )
}
