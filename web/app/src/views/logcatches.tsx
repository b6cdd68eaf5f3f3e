// The trip's strikes, and what became of each.
import type { StrikeNow } from '../api'
import * as log from '../log/log'
import { settings } from '../model/settings'
import { Button } from '../ui/controls'
import { capital } from '../words'
import { fish } from './logfish'

export function Catches() {
  const catches = log.now.value?.catches ?? []
  if (catches.length === 0) return null
  return (
    <section aria-labelledby="log-strikes">
      <h2 id="log-strikes">Strikes</h2>
      <ul class="log-lines">
        {catches.toReversed().map(c => (
          <Catch key={c.strike} fish={c} />
        ))}
      </ul>
    </section>
  )
}

function Catch(props: { fish: StrikeNow }) {
  const c = props.fish
  const us = settings.value.units === 'us'
  const size = [
    c.length_m === undefined
      ? ''
      : us
        ? `${+(c.length_m / 0.0254).toFixed(1)} in`
        : `${Math.round(c.length_m * 100)} cm`,
    c.mass_kg === undefined
      ? ''
      : us
        ? `${(c.mass_kg / 0.45359237).toFixed(1)} lb`
        : `${c.mass_kg.toFixed(1)} kg`,
  ]
    .filter(Boolean)
    .join(', ')
  const entry = log.now.value?.entries.find(
    e =>
      !e.void &&
      (e.kind === 'landed' || e.kind === 'lost') &&
      (e.body as { strike?: string } | undefined)?.strike === c.strike,
  )
  const words = [c.species, c.outcome, c.fate, size, c.depth, c.counted ? '' : 'in no effort'].filter(Boolean)
  return (
    <li class="log-line middle">
      <p>
        <b>
          {c.time} {capital(c.position)}
        </b>{' '}
        <small>{words.length > 0 ? words.join('; ') : 'no more known yet'}</small>
      </p>
      <div class="setting-row">
        {!c.outcome && (
          <>
            <Button
              kind="main"
              label={`Landed: the ${c.time} strike on ${c.position}`}
              onClick={() => (fish.value = { strike: c.strike, rod: c.rod, outcome: 'landed' })}
            >
              Landed
            </Button>
            <Button
              label={`Lost: the ${c.time} strike on ${c.position}`}
              onClick={() => void log.lost(c.rod, { strike: c.strike })}
            >
              Lost
            </Button>
            <Button
              label={`Lost, line still out: the ${c.time} strike on ${c.position}`}
              onClick={() => void log.lost(c.rod, { strike: c.strike, still_out: true })}
            >
              Lost, still out
            </Button>
          </>
        )}
        {entry?.kind === 'landed' && (
          <Button
            label={`Put right the fish of ${c.time} on ${c.position}`}
            onClick={() => (fish.value = { strike: c.strike, rod: c.rod, outcome: 'landed', entry })}
          >
            Put right
          </Button>
        )}
      </div>
    </li>
  )
}
