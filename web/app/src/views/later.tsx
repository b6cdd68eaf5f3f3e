// A view in a file of its own, got when it is first opened: the first spread need not wait
// for it. Without a signal it comes from what this device keeps.
import { useSignal } from '@preact/signals'
import type { ComponentType } from 'preact'
import { useEffect } from 'preact/hooks'
import { Button } from '../ui/controls'

export function later(load: () => Promise<ComponentType>): ComponentType {
  let got: ComponentType | undefined
  return function Later() {
    const state = useSignal<'coming' | 'here' | 'missing'>(got ? 'here' : 'coming')
    const come = () => {
      state.value = 'coming'
      load().then(
        view => {
          got = view
          state.value = 'here'
        },
        () => {
          state.value = 'missing'
        },
      )
    }
    useEffect(() => {
      if (!got) come()
    }, [])
    if (state.value === 'here' && got) {
      const View = got
      return <View />
    }
    return (
      <div class="page">
        {state.value === 'coming' ? (
          <p class="working" role="status">
            Loading…
          </p>
        ) : (
          <>
            <p class="trouble-words" role="alert">
              This view has not been loaded yet, and there is no signal to get it.
            </p>
            <Button onClick={come}>Try again</Button>
          </>
        )}
      </div>
    )
  }
}
