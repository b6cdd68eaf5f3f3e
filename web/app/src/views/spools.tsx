// Spools across their axle, to scale: bare arbor, the line on it, full flange.
import { useSignal } from '@preact/signals'
import { useEffect } from 'preact/hooks'
import type { Spool } from '../api'
import { ask } from '../engine/client'
import * as doc from '../model/doc'
import { type FormMap, textAt } from '../model/form'
import { settings } from '../model/settings'
import { capital, FOOT, length, plain, readLength } from '../words'

interface Size {
  arbor: number // mm
  flange: number
  width: number
  line?: number // diameter of what is wound on
  start?: number // the same with nothing out
}

function Picture(props: Size & { words: string }) {
  const { arbor, flange, width, line, start } = props
  const ring = (d: number) => ({ y: (flange - d) / 2, height: d })
  return (
    <svg class="spool" viewBox={`-6 -2 ${width + 12} ${flange + 4}`} role="img" aria-label={props.words}>
      <rect class="spool-room" width={width} height={flange} />
      {line !== undefined && line > arbor && <rect class="spool-line" width={width} {...ring(line)} />}
      <rect class="spool-arbor" width={width} {...ring(arbor)} />
      {start !== undefined && (
        <path
          class="spool-start"
          d={`M0 ${(flange - start) / 2}H${width}M0 ${(flange + start) / 2}H${width}`}
        />
      )}
      <path class="spool-flange" d={`M-2 0V${flange}M${width + 2} 0V${flange}`} />
    </svg>
  )
}

/** A reel as it is described, nothing wound on it. */
export function SpoolPicture(props: { item: FormMap; base: FormMap }) {
  const m = (k: string) => readLength(textAt(props.item, k) ?? textAt(props.base, k) ?? '') ?? 0
  const [arbor, flange, width] = [m('arbor') * 1000, m('flange') * 1000, m('width') * 1000]
  if (!(arbor > 0 && flange > arbor && width > 0)) return null
  return (
    <figure class="boat-figure">
      <Picture
        arbor={arbor}
        flange={flange}
        width={width}
        words={`Spool to scale: arbor ${arbor.toFixed(0)} mm, flange ${flange.toFixed(0)} mm, ${width.toFixed(0)} mm between`}
      />
    </figure>
  )
}

// Where the file does not say how much is on a reel, it is as much as fits: of thin line
// on a large reel that is miles, which nobody has on it. Beyond this it does not matter.
const plenty = 2000 * FOOT

/** Every rod's spool with its line out. */
export function Spools() {
  const spools = useSignal<Spool[]>([])
  const text = doc.text.value
  const u = settings.value.units
  const solved = doc.solved.value // asked anew whenever the lines have moved
  useEffect(() => {
    if (text === null || !solved) return
    let here = true
    ask('spools', { text, units: u }).then(
      a => {
        if (here) spools.value = a.spools
      },
      () => {
        if (here) spools.value = []
      },
    )
    return () => {
      here = false
    }
  }, [text, solved, u])
  const name = (id: string) => doc.lines.value.find(l => l.id === id)?.name ?? plain(id)
  return (
    <section aria-labelledby="gear-spools">
      <h2 id="gear-spools">Spools, with their lines out</h2>
      {spools.value.length === 0 ? (
        <p>No rod has a reel yet. Give it one under Rods, and its spool is drawn here.</p>
      ) : (
        <p>
          To scale, across the axle: the dark block is the bare spool, the light part the line that is left on
          it, the dashes how full it is with nothing out. As much line as fits, where the file does not say
          how much is on it.
        </p>
      )}
      <ul class="spools">
        {spools.value.map(s => {
          const total = s.lines.reduce((sum, l) => sum + l.length_m, 0)
          const left = Math.max(0, total - s.out_m)
          const words =
            s.beyond_m > 0
              ? `asks for ${length(u, s.beyond_m)} more than is on it: let less out, or fish a larger reel`
              : s.lines.length === 1
                ? `${length(u, s.out_m)} out, ${left > plenty ? `more than ${length(u, plenty)}` : length(u, left)} left`
                : `${length(u, s.out_m)} out, over what is wound under it`
          const mm = (v: number) => `${(v * 1000).toFixed(0)} mm`
          return (
            <li key={s.rod} class="spool-item">
              <Picture
                arbor={s.arbor_m * 1000}
                flange={s.flange_m * 1000}
                width={s.width_m * 1000}
                line={Math.min(s.diameter_m, s.flange_m) * 1000}
                start={Math.min(s.start_m, s.flange_m) * 1000}
                words={`Spool of the ${name(s.rod)}: ${words}; it stands ${mm(s.diameter_m)} of ${mm(s.flange_m)} across`}
              />
              <p>
                <b>{capital(name(s.rod))}</b> <small>{plain(s.reel)}</small>
                <br />
                {s.beyond_m > 0 ? <b>! {capital(words)}.</b> : <>{capital(words)}.</>}{' '}
                <small>
                  {mm(s.diameter_m)} of {mm(s.flange_m)} across.
                </small>
                {!s.fits && <b> ! What the file puts on this reel does not fit on it.</b>}
              </p>
            </li>
          )
        })}
      </ul>
    </section>
  )
}
