// Where the boat is, in the log; and trips that two devices began apart.
import * as log from '../log/log'
import * as place from '../log/place'
import { settings } from '../model/settings'
import { Button } from '../ui/controls'

/** Turns the boat's place in entries on and off, and says how it stands. */
export function WhereWords() {
  const p = place.placing.value
  const us = settings.value.units === 'us'
  return (
    <details>
      <summary>Where the boat is{place.on.value ? ': logged with each entry' : ''}</summary>
      <p role="status">
        {!place.on.value && 'Entries carry no place.'}
        {place.on.value && p.state === 'off' && 'The device is asked while a trip is under way.'}
        {p.state === 'seeking' && 'Waiting for a place from the device; entries carry none until then.'}
        {p.state === 'found' &&
          `Entries carry the boat’s place, good to some ${us ? `${Math.round(p.accuracy / 0.3048)} ft` : `${Math.round(p.accuracy)} m`}.`}
        {p.state === 'none' && `No place: ${p.words}.`}
      </p>
      <p class="plan-note">
        It stays in this log and goes to the boat’s own server, nowhere else. It tells where you fish: look
        before you hand the log on. Not for navigation.
      </p>
      <Button onClick={() => place.turn(!place.on.value)}>
        {place.on.value ? 'Leave the place out' : 'Log the place with each entry'}
      </Button>
    </details>
  )
}

/** Offers to make one of two trips begun apart, and to part them again. */
export function Together() {
  const mine = log.parts.value.filter(p => p.to === log.trip.value)
  const time = (at: string) => at.slice(11, 16)
  return (
    <>
      {mine.map(p => (
        <div key={p.id} class="proposals">
          <p>
            With the trip <b>{p.name}</b>, begun at {time(p.at)} on {p.by}.
          </p>
          <Button label={`Part the trip begun on ${p.by}`} onClick={() => void log.partTrips(p)}>
            Part them
          </Button>
        </div>
      ))}
      {log.alike.value.map(t => (
        <div key={t.id} class="proposals">
          <p>
            Another trip, <b>{t.name}</b>, was begun at {time(t.at)} on {t.by}. Is it this one?
          </p>
          <Button label={`Join the trip begun on ${t.by}`} onClick={() => void log.joinTrips(t)}>
            One trip: join them
          </Button>
        </div>
      ))}
    </>
  )
}
