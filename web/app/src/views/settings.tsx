// How the app looks and counts, on this device.
import { change, settings } from '../model/settings'
import { Choice, Dialog } from '../ui/controls'
import { offline } from '../update'

export function SettingsDialog(props: { open: boolean; onClose: () => void }) {
  const s = settings.value
  return (
    <Dialog title="Settings" open={props.open} onClose={props.onClose}>
      <Choice
        label="Light"
        value={s.scheme}
        options={[
          { value: 'day', text: 'day' },
          { value: 'dusk', text: 'dusk' },
          { value: 'night', text: 'night' },
        ]}
        onValue={scheme => change({ scheme })}
      />
      <p class="plan-note">Night is dim red on black, to keep your eyes used to the dark.</p>
      <Choice
        label="Units"
        value={s.units}
        options={[
          { value: 'us', text: 'feet, mph' },
          { value: 'si', text: 'meters, m/s' },
        ]}
        onValue={units => change({ units })}
      />
      <Choice
        label="Hand"
        value={s.hand}
        options={[
          { value: 'right', text: 'right' },
          { value: 'left', text: 'left' },
        ]}
        onValue={hand => change({ hand })}
      />
      <Choice
        label="Text"
        value={s.text}
        options={[
          { value: 'normal', text: 'normal' },
          { value: 'large', text: 'large' },
        ]}
        onValue={text => change({ text })}
      />
      <Choice
        label="Motion"
        value={s.motion}
        options={[
          { value: 'system', text: 'as the device has it' },
          { value: 'less', text: 'less' },
        ]}
        onValue={motion => change({ motion })}
      />
      <p class="plan-note">
        {offline.value === 'yes'
          ? 'The app is kept on this device: it works without a signal.'
          : offline.value === 'cannot'
            ? 'At this address the browser cannot keep the app for use without a signal. It works live from here; to install it, open it from an https address.'
            : 'The app is not kept on this device yet.'}
      </p>
      <p class="plan-note">
        sternfan works out estimates with an interval. It is not for navigation, and it replaces neither a
        look-out nor local rules and licensed practice.
      </p>
    </Dialog>
  )
}
