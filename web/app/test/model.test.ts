import { describe, expect, test } from 'vitest'
import type { FormValue } from '../src/api'
import {
  at,
  depthKnob,
  deviceKnobs,
  isStacked,
  partsBehind,
  settingAt,
  settingKnobs,
  textAt,
} from '../src/model/form'
import { History } from '../src/model/history'
import { readSettings } from '../src/model/settings'

const file: FormValue = {
  speed: { given: 'ground', value: { value: '2.5 mph', sd: '0.1 mph' } },
  downriggers: [{ id: 'dr', cable_out: '75 ft' }],
  rods: [
    {
      id: 'low',
      rig: { kind: 'downrigger', downrigger: 'dr' },
      settings: { lead: '15 ft', above_ball: '2 ft' },
    },
    {
      id: 'high',
      rig: { kind: 'downrigger', downrigger: 'dr' },
      settings: { lead: '25 ft', above_ball: '20 ft' },
    },
    {
      id: 'core',
      rig: { kind: 'board', line: 'braid-30', weighted: 'lead-core-27' },
      settings: { line_out: '120 ft', colors: '10' },
    },
    {
      id: 'plug',
      rig: { kind: 'board', line: 'mono-20', behind: [{ lure: 'plug-cut' }] },
      settings: { line_out: '110 ft', lead: '100 ft' },
    },
    {
      id: 'dive',
      rig: { kind: 'diver', behind: [{ leader: 'fluoro-20', length: '6 ft' }, { lure: 'fly' }] },
      settings: { line_out: '48.8 m', dial: '3' },
    },
  ],
}

describe('the form', () => {
  test('paths go by key, number and id', () => {
    expect(textAt(file, 'rods.dive.settings.dial')).toBe('3')
    expect(textAt(file, 'rods[4].rig.behind[1].lure')).toBe('fly')
    expect(textAt(file, 'speed.value')).toBe('2.5 mph')
    expect(at(file, 'rods.none.settings')).toBeUndefined()
  })

  test('each rig goes up and down by its own setting', () => {
    expect(depthKnob(file, 'low', 'us')?.path).toBe('downriggers.dr.cable_out')
    expect(depthKnob(file, 'high', 'us')?.path).toBe('rods.high.settings.above_ball')
    expect(depthKnob(file, 'core', 'us')).toMatchObject({
      path: 'rods.core.settings.colors',
      value: 10,
      step: 0.5,
    })
    expect(depthKnob(file, 'plug', 'us')?.path).toBe('rods.plug.settings.lead')
    expect(depthKnob(file, 'dive', 'si')).toMatchObject({ unit: 'm', value: 48.8, step: 0.5 })
    expect(depthKnob(file, 'dive', 'us')?.value).toBeCloseTo(160.1, 1)
    expect(isStacked(file, 'low')).toBe(false)
    expect(isStacked(file, 'high')).toBe(true)
  })

  test('every number of a rod says what it counts', () => {
    expect(settingKnobs(file, 'low', 'us').map(k => k.row.label)).toEqual([
      'Cable out',
      'Lead',
      'Release above ball',
    ])
    for (const k of settingKnobs(file, 'plug', 'us')) expect(k.hint).not.toBe('')
    const mast = {
      mast_boards: [{ id: 'mb', line_out: '30 m' }],
      rods: [
        {
          id: 'm',
          rig: { kind: 'mast-board', mast_board: 'mb' },
          settings: { along: '40 ft', lead: '300 ft', section: { value: '150 ft', sd: '2 %' }, side: 'port' },
        },
      ],
    }
    expect(
      settingKnobs(mast, 'm', 'si').map(k => [k.path, k.hint, Number(k.value.toFixed(2)), k.unit, k.step]),
    ).toEqual([
      ['rods.m.settings.section', 'of copper or weighted steel, which goes out whole', 45.72, 'm', 0.5],
      ['rods.m.settings.lead', 'from the release back to the lure', 91.44, 'm', 0.5],
      ['rods.m.settings.along', 'from the mast to the release', 12.19, 'm', 0.5],
      [
        'mast_boards.mb.line_out',
        'from the mast’s top to the board; rods on the same line move with it',
        30,
        'm',
        0.5,
      ],
    ])
    expect(deviceKnobs(mast, 'mb', 'us').map(k => k.path)).toEqual(['mast_boards.mb.line_out'])
    expect(settingAt('mast_boards.mb.line_out')?.id).toBe('tow_line_out')
    expect(settingAt('rods.m.settings.section')?.id).toBe('section')
    for (const path of ['rods.m.rig.line', 'mast_boards.mb.side', 'downriggers.dr.ball', 'speed.value'])
      expect(settingAt(path)).toBeUndefined()
    expect(partsBehind(file, 'dive').map(p => p.path)).toEqual([
      'rods.dive.rig.behind[0].leader',
      'rods.dive.rig.behind[1].lure',
    ])
  })
})

describe('undo and redo', () => {
  test('steps of one key close together are one', () => {
    const h = new History()
    h.left('a', 'line out 101 ft', 'line', 0)
    h.left('b', 'line out 102 ft', 'line', 500)
    h.left('c', 'dial 2', 'dial', 900)
    expect(h.undoes).toBe('dial 2')
    expect(h.undo('d')?.text).toBe('c')
    expect(h.undoes).toBe('line out 102 ft')
    expect(h.undo('c')?.text).toBe('a')
    expect(h.undo('a')).toBeUndefined()
    expect(h.redo('a')?.text).toBe('c')
    expect(h.redo('c')?.text).toBe('d')
  })

  test('a new step ends what could be redone', () => {
    const h = new History()
    h.left('a', 'x', '', 0)
    h.undo('b')
    h.left('a', 'y', '', 1)
    expect(h.redoes).toBeUndefined()
  })
})

test('settings kept by an earlier version, or by anything, never break the app', () => {
  expect(readSettings('{"scheme":"night","units":"furlongs","other":1}')).toMatchObject({
    scheme: 'night',
    units: 'us',
  })
  for (const bad of [null, '', '[]', 'null', '{"scheme":{}}', '7'])
    expect(readSettings(bad).scheme).toBe('day')
})
