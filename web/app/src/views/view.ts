// Which view is shown.
import { signal } from '@preact/signals'

export const view = signal('spread')
