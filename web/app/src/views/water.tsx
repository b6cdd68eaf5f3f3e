// The water: its bottom, its temperature and its current by depth.
import { useSignal } from '@preact/signals'
import * as doc from '../model/doc'
import { appending } from '../model/edits'
import { listAt, textAt } from '../model/form'
import { settings } from '../model/settings'
import { Button } from '../ui/controls'
import { Field } from '../ui/field'
import { addCurrent, nextDepth } from './addcurrent'
import { chooseProfile, takeProfile } from './profile'

export function Water() {
  const form = doc.form.value
  const u = settings.value.units
  const over = useSignal(false)
  const said = useSignal('')
  const temperature = listAt(form, 'water.temperature')
  const one = textAt(form, 'water.temperature')
  const current = listAt(form, 'water.current')
  const heading = textAt(form, 'heading')
  const take = async (file: File | undefined) => {
    if (file) said.value = await takeProfile(file)
  }
  const addTemperature = () => {
    const degrees = textAt(temperature.at(-1), 'temp') ?? one ?? (u === 'us' ? '60 F' : '15 C')
    const depth = temperature.length > 0 ? nextDepth(u, temperature, 20) : u === 'us' ? '0 ft' : '0 m'
    const longer = appending(form, 'water.temperature', { depth, temp: degrees })
    void doc.edit([longer], 'water: a depth added to the temperatures')
  }
  return (
    <section
      aria-labelledby="gear-water"
      class={over.value ? 'drop-here' : ''}
      onDragOver={e => {
        e.preventDefault()
        over.value = true
      }}
      onDragLeave={() => (over.value = false)}
      onDrop={e => {
        e.preventDefault()
        over.value = false
        void take(e.dataTransfer?.files[0])
      }}
    >
      <h2 id="gear-water">Water</h2>
      <div class="fields">
        <Field
          label="Depth of the bottom"
          path="water.bottom"
          value={textAt(form, 'water.bottom')}
          hint="none"
          what="water"
        />
        {temperature.length === 0 && (
          <Field
            label="Temperature"
            path="water.temperature"
            value={one}
            hint={u === 'us' ? '60 F' : '15 C'}
            what="water"
          />
        )}
      </div>
      <h3>Temperature by depth</h3>
      <ul class="rows">
        {temperature.map((t, i) => (
          <li key={i} class="row">
            <Field
              label={`Depth ${i + 1}`}
              path={`water.temperature[${i}].depth`}
              value={textAt(t, 'depth')}
              what="water"
            />
            <Field
              label={`Temperature ${i + 1}`}
              path={`water.temperature[${i}].temp`}
              value={textAt(t, 'temp')}
              what="water"
            />
            <Button
              label={`Take out temperature ${i + 1}`}
              onClick={() =>
                void doc.remove(
                  `water.temperature[${i}]`,
                  `water: temperature at ${textAt(t, 'depth')} taken out`,
                )
              }
            >
              Take out
            </Button>
          </li>
        ))}
      </ul>
      <div class="setting-row">
        <Button onClick={addTemperature}>Add a depth</Button>
        <Button onClick={() => void chooseProfile().then(take)}>Take a profile file</Button>
      </div>
      <p class="plan-note">
        A profile file is a table (CSV) with depth and temperature, or a buoy’s .ocean text. Pick it, or drop
        it here; its numbers are put into this scenario, so that they go along with the link and the file.
      </p>
      {said.value && <p role="status">{said.value}</p>}
      <h3>Current by depth</h3>
      {current.length === 0 && <p>Still water: no current is given.</p>}
      <ul class="rows">
        {current.map((c, i) => (
          <li key={i} class="row">
            <Field
              label={`Current ${i + 1}: depth`}
              path={`water.current[${i}].depth`}
              value={textAt(c, 'depth')}
              what="current"
            />
            <Field
              label="Speed"
              path={`water.current[${i}].speed`}
              value={textAt(c, 'speed')}
              what={`current ${i + 1}`}
            />
            <Field
              label="Flows toward"
              path={`water.current[${i}].toward`}
              value={textAt(c, 'toward')}
              what={`current ${i + 1}`}
            />
            <Button
              label={`Take out current ${i + 1}`}
              onClick={() =>
                void doc.remove(`water.current[${i}]`, `current at ${textAt(c, 'depth')} taken out`)
              }
            >
              Take out
            </Button>
          </li>
        ))}
      </ul>
      <div class="setting-row">
        <Button onClick={() => void addCurrent()}>Add a current</Button>
      </div>
      {(heading !== undefined || current.length > 0) && (
        <div class="fields">
          <Field label="Heading of the bow" path="heading" value={heading} hint="20 deg" what="boat" />
        </div>
      )}
      <p class="plan-note">
        Directions are degrees clockwise from true north: a current toward 90 deg flows to the east.
      </p>
    </section>
  )
}
