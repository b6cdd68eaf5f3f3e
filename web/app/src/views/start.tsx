// The first thing a person sees: what this is and what to do first.
import { useSignal } from '@preact/signals'
import demoAddress from '../../../../examples/summer.yaml?url'
import * as doc from '../model/doc'
import { Button, Choice, Stepper } from '../ui/controls'
import { chooseFile } from './files'
import { type FirstRig, firstRod } from './newrod'

export async function openDemo(): Promise<void> {
  const reply = await fetch(demoAddress)
  await doc.open(await reply.text(), 'opened the demo')
}

export function Start() {
  const rig = useSignal<FirstRig>('diver')
  const feet = useSignal(120)
  const mph = useSignal(2.4)
  return (
    <div class="start">
      <h1>Where do your lures run?</h1>
      <p>
        sternfan works out how deep, how far to the side and how far astern each lure of a trolling spread
        runs, with how sure that is. Nothing is set yet. Begin in one of three ways:
      </p>
      <section aria-labelledby="start-one">
        <h2 id="start-one">1. Set your first rod</h2>
        <Choice
          label="What takes the lure down"
          value={rig.value}
          options={[
            { value: 'diver', text: 'diver' },
            { value: 'downrigger', text: 'downrigger' },
            { value: 'flat-line', text: 'nothing: flat line' },
            { value: 'lead-core', text: 'lead core' },
          ]}
          onValue={v => (rig.value = v)}
        />
        <Stepper
          label={rig.value === 'downrigger' ? 'Cable out' : 'Line out'}
          value={feet.value}
          unit="ft"
          digits={0}
          min={10}
          max={600}
          step={5}
          big={4}
          onValue={v => (feet.value = v)}
        />
        <Stepper
          label="Speed"
          hint="through the surface water"
          value={mph.value}
          unit="mph"
          digits={1}
          min={0.8}
          max={5}
          step={0.1}
          onValue={v => (mph.value = v)}
        />
        <Button
          kind="main"
          onClick={() => void doc.open(firstRod(rig.value, feet.value, mph.value), 'set the first rod')}
        >
          Show where it runs
        </Button>
      </section>
      <section aria-labelledby="start-two">
        <h2 id="start-two">2. Look at the demo</h2>
        <p>A boat with twelve rods over a thermocline. The boat, the lake and the crew are invented.</p>
        <Button onClick={() => void openDemo()}>Open the demo (invented data)</Button>
      </section>
      <section aria-labelledby="start-three">
        <h2 id="start-three">3. Open a file or a link</h2>
        <p>
          A scenario file from the program or from someone’s phone. A link that was sent to you opens by
          itself.
        </p>
        <Button onClick={() => void chooseFile()}>Open a file</Button>
      </section>
      {doc.trouble.value && (
        <p class="trouble-words" role="alert">
          <b>! </b>
          {doc.trouble.value}
        </p>
      )}
      <p class="plan-note">
        Everything is worked out on this device; nothing is sent anywhere. Not for navigation: a boat with
        lines out must still keep a look-out and give way.
      </p>
    </div>
  )
}
