// The log as files, in and out; and the trips on this device.
import { useSignal } from '@preact/signals'
import { askLong } from '../engine/client'
import * as log from '../log/log'
import { faultWords } from '../model/doc'
import { settings } from '../model/settings'
import { Button, Select } from '../ui/controls'
import { fileName, saveFile } from './files'

const most = 2 << 20 // bytes of a file of events: what the engine takes at once

export function HandOn() {
  const said = useSignal('')
  const trips = log.trips.value
  const act = async (what: () => Promise<string>) => {
    try {
      said.value = await what()
    } catch (e) {
      said.value = log.wordsOf(e)
    }
  }
  const events = () =>
    act(async () => {
      const text = await log.allEvents()
      const n = text.split('\n').length - 1
      if (n === 0) return 'There is nothing to save yet.'
      saveFile('log.jsonl', 'application/x-ndjson', text)
      return `${n} entries saved: sternfan log import log.jsonl takes them in, and so does another phone here.`
    })
  const table = (format: 'strikes' | 'effort') =>
    act(async () => {
      const of = await log.tripEvents()
      const got = await askLong('handon', { events: of, format, units: settings.value.units })
      saveFile(fileName(`${format} ${log.now.value?.day ?? ''}`, 'csv'), 'text/csv', got.text)
      return `The trip’s ${format} saved as CSV.`
    })
  const bring = () =>
    act(async () => {
      const files = await choose()
      const map = files.find(f => /\.ya?ml$/i.test(f.name))
      const data = files.find(f => f !== map)
      if (!data) return ''
      if (data.size > most) return `${data.name} is too large for a phone: sternfan log import takes it.`
      if (/\.csv$/i.test(data.name) && !map)
        return 'A CSV file needs its mapping: choose both files, the .csv and the .yaml that says what its columns are.'
      const got = await askLong('takein', {
        name: data.name,
        text: await data.text(),
        ...(map ? { mapping_name: map.name, mapping: await map.text() } : {}),
      })
      const n = await log.takeIn(got.events)
      const why = got.faults?.[0]
      const not = got.refused ? ` ${got.refused} not taken${why ? `: ${faultWords(why)}` : ''}.` : ''
      return `${data.name}: ${got.count} entries, ${n} of them new.${not}`
    })
  return (
    <section aria-labelledby="log-hand">
      <h2 id="log-hand">Trips and files</h2>
      {trips.length > 1 && (
        <Select
          label="Trip"
          value={log.trip.value ?? ''}
          options={trips.map(t => ({
            value: t.id,
            text: `${t.at.slice(0, 16).replace('T', ' ')} ${t.name}`,
          }))}
          onValue={v => void log.look(v)}
        />
      )}
      <div class="setting-row">
        <Button onClick={() => void events()}>Save all entries</Button>
        {log.now.value && (
          <>
            <Button onClick={() => void table('strikes')}>Save strikes, CSV</Button>
            <Button onClick={() => void table('effort')}>Save effort, CSV</Button>
          </>
        )}
        <Button onClick={() => void bring()}>Take in a file</Button>
      </div>
      <p role="status">{said.value}</p>
    </section>
  )
}

function choose(): Promise<File[]> {
  return new Promise(resolve => {
    const input = document.createElement('input')
    input.type = 'file'
    input.multiple = true
    input.accept = '.jsonl,.json,.csv,.yaml,.yml,application/x-ndjson,application/json,text/csv'
    input.addEventListener('cancel', () => resolve([]))
    input.addEventListener('change', () => resolve([...(input.files ?? [])]))
    input.click()
  })
}
