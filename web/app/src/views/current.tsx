// The current and the heading, in reach of the hand that sets the spread.
import { useSignal } from '@preact/signals'
import * as doc from '../model/doc'
import { listAt, textAt } from '../model/form'
import { settings } from '../model/settings'
import { Button, Stepper } from '../ui/controls'
import { MPH, readSpeed } from '../words'
import { addCurrent } from './addcurrent'

const value = (path: string) => doc.trial.value.get(path) ?? textAt(doc.form.value, path)

/** Degrees as they are written in the file, 0 to 359; undefined for what has another form. */
export function readDegrees(text: string | undefined): number | undefined {
  const found = /^(-?\d+(?:\.\d+)?)\s*(?:deg|°)?$/.exec(text?.trim() ?? '')
  return found ? ((Number(found[1]) % 360) + 360) % 360 : undefined
}

const turned = (v: number) => ((Math.round(v) % 360) + 360) % 360

export function Current() {
  const u = settings.value.units
  const busy = useSignal(false)
  const list = listAt(doc.form.value, 'water.current')
  const heading = readDegrees(value('heading'))
  const course = (
    label: string,
    name: string,
    hint: string,
    path: string,
    degrees: number,
    what: (v: number) => string,
  ) => (
    <Stepper
      label={label}
      name={name}
      hint={hint}
      value={degrees}
      unit="deg"
      digits={0}
      min={-30}
      max={389}
      step={5}
      big={6}
      onValue={v => doc.nudge(path, `${turned(v)} deg`, what(turned(v)))}
    />
  )
  return (
    <details class="current">
      <summary>Current and heading</summary>
      {heading !== undefined && list.length > 0 && <Rose heading={heading} list={list} />}
      {heading !== undefined &&
        course(
          'Heading',
          'heading',
          'of the bow, from true north',
          'heading',
          heading,
          v => `heading ${v} deg`,
        )}
      {list.map((c, i) => {
        const path = `water.current[${i}]`
        const depth = textAt(c, 'depth') ?? ''
        const mps = readSpeed(value(`${path}.speed`) ?? '')
        const toward = readDegrees(value(`${path}.toward`))
        return (
          <fieldset key={i} class="current-at">
            <legend class="control-label">Current at {depth}</legend>
            {mps !== undefined && (
              <Stepper
                label="Speed"
                name={`current at ${depth}`}
                value={Number((u === 'us' ? mps / MPH : mps).toFixed(2))}
                unit={u === 'us' ? 'mph' : 'm/s'}
                digits={2}
                min={0}
                max={u === 'us' ? 5 : 2.5}
                step={u === 'us' ? 0.05 : 0.02}
                onValue={v => {
                  const text = u === 'us' ? `${v.toFixed(2)} mph` : `${v.toFixed(2)} m/s`
                  doc.nudge(`${path}.speed`, text, `current at ${depth}: ${text}`)
                }}
              />
            )}
            {toward !== undefined &&
              course(
                'Flows toward',
                `direction at ${depth}`,
                '',
                `${path}.toward`,
                toward,
                v => `current at ${depth}: toward ${v} deg`,
              )}
          </fieldset>
        )
      })}
      {list.length === 0 && <p>Still water: no current is given.</p>}
      <div class="setting-row">
        <Button
          disabled={busy.value}
          onClick={() => {
            busy.value = true
            void addCurrent().finally(() => {
              busy.value = false
            })
          }}
        >
          {list.length === 0 ? 'Add a current' : 'Add a depth'}
        </Button>
      </div>
      <p class="plan-note">Take a depth out, or write one with its uncertainty, under Gear, Water.</p>
    </details>
  )
}

/** Which way the water flows past the boat: the bow is up, the arrows carry their depths. */
function Rose(props: { heading: number; list: ReturnType<typeof listAt> }) {
  const most = Math.max(
    ...props.list.map((_, i) => readSpeed(value(`water.current[${i}].speed`) ?? '') ?? 0),
    0.01,
  )
  return (
    <svg class="rose" viewBox="-90 -56 180 112" aria-hidden="true">
      <path class="rose-boat" d="M0-14L6-2V12H-6V-2Z" />
      {props.list.map((c, i) => {
        const toward = readDegrees(value(`water.current[${i}].toward`))
        const mps = readSpeed(value(`water.current[${i}].speed`) ?? '')
        if (toward === undefined || !mps) return null
        const angle = ((toward - props.heading) * Math.PI) / 180
        const long = 22 + 20 * (mps / most)
        const [sx, sy] = [Math.sin(angle), -Math.cos(angle)]
        const head = (back: number, out: number) =>
          `${sx * (long - back) - sy * out} ${sy * (long - back) + sx * out}`
        return (
          <g key={i}>
            <path class="rose-arrow" d={`M${sx * 19} ${sy * 19}L${sx * (long - 4)} ${sy * (long - 4)}`} />
            <path class="rose-end" d={`M${sx * long} ${sy * long}L${head(6, 3.2)}L${head(6, -3.2)}Z`} />
            <text
              x={sx * (long + 3)}
              y={sy * (long + 6) + 3}
              text-anchor={Math.abs(sx) < 0.2 ? 'middle' : sx > 0 ? 'start' : 'end'}
            >
              {textAt(c, 'depth')}
            </text>
          </g>
        )
      })}
    </svg>
  )
}
