// Rods to begin with: whole scenarios and single rods in the file's own words.
import type { Edit } from '../api'
import { adding } from '../model/edits'

export type FirstRig = 'diver' | 'downrigger' | 'flat-line' | 'lead-core'

const rigs: Record<FirstRig, (id: string, feet: number) => string> = {
  diver: (_, feet) => `    rig:
      kind: diver
      line: braid-30
      diver: diver-standard
      behind:
        - {leader: fluoro-20, length: 6 ft}
        - {lure: spoon-standard}
    settings: {line_out: ${feet} ft, dial: 2, side: starboard, ring: off}`,
  downrigger: id => `    rig:
      kind: downrigger
      line: mono-20
      downrigger: ${id}-rigger
      behind:
        - {leader: fluoro-20, length: 6 ft}
        - {lure: spoon-standard}
    settings: {lead: 20 ft, above_ball: 2 ft, set_load: 3 lb}`,
  'flat-line': (_, feet) => `    rig:
      kind: flat-line
      line: mono-17
      behind:
        - {lure: spoon-standard}
    settings: {line_out: ${feet} ft}`,
  'lead-core': (_, feet) => `    rig:
      kind: weighted
      line: braid-30
      weighted: lead-core-27
      behind:
        - {leader: fluoro-20, length: 20 ft}
        - {lure: spoon-light}
    settings: {colors: ${Math.min(10, Math.max(1, Math.round(feet / 30)))}}`,
}

/** A whole scenario of one rod: what a person needs to see a first line run. */
export function firstRod(rig: FirstRig, feet: number, mph: number): string {
  const rigger =
    rig === 'downrigger'
      ? `downriggers:
  - {id: first-rigger, boom: boom, cable: rigger-cable-150, ball: ball-round-12, cable_out: ${feet} ft}
`
      : ''
  const boom =
    rig === 'downrigger' ? '  booms:\n    - {id: boom, end: {aft: 1 ft, starboard: 5 ft, up: 4 ft}}\n' : ''
  return `version: 1
name: My spread
boat:
  length: 20 ft
  beam: 8 ft
  holders:
    - {id: first, position: starboard rod, tip: {forward: 2 ft, starboard: 8 ft, up: 4 ft}}
${boom}speed: {given: surface, value: ${mph.toFixed(1)} mph, band: 0.2 mph}
${rigger}rods:
  - id: first
    holder: first
${rigs[rig]('first', feet)}
`
}

/** An id that is not taken yet: the stem, or the stem with a number. */
export function freeID(stem: string, taken: readonly string[]): string {
  if (!taken.includes(stem)) return stem
  for (let i = 2; ; i++) if (!taken.includes(`${stem}-${i}`)) return `${stem}-${i}`
}

const positions: Record<FirstRig, string> = {
  diver: 'diver',
  downrigger: 'rigger',
  'flat-line': 'flat line',
  'lead-core': 'lead core',
}

/** The edit that adds a downrigger on a boom. */
export function newRigger(id: string, boom: string): Edit {
  return adding(
    'downriggers',
    `{id: ${id}, boom: ${boom}, cable: rigger-cable-150, ball: ball-round-12, cable_out: 50 ft}`,
  )
}

/** The edits that add a rod with its holder, and a downrigger with its boom where it needs one. */
export function addRod(
  rig: FirstRig,
  side: 'port' | 'starboard',
  taken: { rods: string[]; holders: string[]; booms: string[]; downriggers: string[] },
): { edits: Edit[]; id: string } {
  const id = freeID(`${side}-${rig}`, [...taken.rods, ...taken.holders])
  const where =
    rig === 'downrigger' ? `forward: 1 ft, ${side}: 4 ft, up: 6 ft` : `forward: 4 ft, ${side}: 9 ft, up: 4 ft`
  const edits = [adding('boat.holders', `{id: ${id}, position: ${side} ${positions[rig]}, tip: {${where}}}`)]
  let rigger = ''
  if (rig === 'downrigger') {
    rigger = freeID(`${id}-rigger`, taken.downriggers)
    const boom = freeID(`${id}-boom`, taken.booms)
    edits.push(
      adding('boat.booms', `{id: ${boom}, end: {forward: 1 ft, ${side}: 6 ft, up: 4 ft}}`),
      newRigger(rigger, boom),
    )
  }
  const body = rigs[rig](rig === 'downrigger' ? id : '', 100).replace('starboard, ring', `${side}, ring`)
  edits.push(adding('rods', `id: ${id}\nholder: ${id}\n${body.replace(/^ {4}/gm, '')}`))
  return { edits, id }
}
