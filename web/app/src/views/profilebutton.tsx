// The button that takes the file a scenario names.
import { useSignal } from '@preact/signals'
import { Button } from '../ui/controls'
import { chooseProfile, takeProfile } from './profile'

/** For a scenario that names a profile's file beside it: the person picks that file. */
export function ProfileButton() {
  const said = useSignal('')
  return (
    <>
      <Button
        kind="main"
        onClick={() =>
          void chooseProfile().then(async file => {
            if (file) said.value = await takeProfile(file)
          })
        }
      >
        Pick the profile’s file
      </Button>
      {said.value && <p role="status">{said.value}</p>}
    </>
  )
}
