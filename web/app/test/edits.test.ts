import { expect, test } from 'vitest'
import type { FormValue } from '../src/api'
import { adding, appending, flow, owned, setting, taking } from '../src/model/edits'

const form: FormValue = {
  heading: '20 deg',
  water: {
    current: [
      { depth: '0 ft', speed: { value: '0.3 mph', sd: '0.1 mph' }, toward: '90 deg' },
      { depth: '40 ft', speed: '0.2 mph', toward: '80 deg' },
    ],
  },
  wants: { bands: [{ from: '20 ft', to: '40 ft' }] },
  rods: [{ id: 'p1', rig: { parts: [{ line: 'mono' }, { slider: [{ leader: 'l' }, { lure: 'a' }] }] } }],
}

test('an edit names a thing by its id and its key', () => {
  expect(owned('rods.p1.settings.lead')).toEqual({ owner: 'rods.p1', key: 'settings.lead' })
  expect(owned('gear.lures.mine.mass')).toEqual({ owner: 'gear.lures.mine', key: 'mass' })
  expect(owned('boat.holders.p.tip')).toEqual({ owner: 'boat.holders.p', key: 'tip' })
  expect(owned('boat.length')).toEqual({ owner: 'boat', key: 'length' })
  expect(owned('speed.value')).toEqual({ owner: 'speed', key: 'value' })
  expect(owned('heading')).toEqual({ owner: '', key: 'heading' })
  expect(adding('rods', '{id: p2}')).toEqual({ do: 'add', owner: 'rods', value: '{id: p2}' })
})

test('what has no id changes with its list, several elements in one edit', () => {
  expect(
    setting(form, [
      ['water.current[1].toward', '85 deg'],
      ['rods.p1.settings.dial', '2'],
      ['water.current[0].speed', '0.4 mph'], // what is known of how sure it is stays
    ]),
  ).toEqual([
    {
      owner: 'water',
      key: 'current',
      value:
        '[{depth: 0 ft, speed: {value: 0.4 mph, sd: 0.1 mph}, toward: 90 deg}, ' +
        '{depth: 40 ft, speed: 0.2 mph, toward: 85 deg}]',
    },
    { owner: 'rods.p1', key: 'settings.dial', value: '2' },
  ])
  expect(setting(form, [['rods.p1.rig.parts[1].slider[1].lure', 'b']])).toEqual([
    { owner: 'rods.p1', key: 'rig.parts', value: '[{line: mono}, {slider: [{leader: l}, {lure: b}]}]' },
  ])
  expect(appending(form, 'wants.bands', { from: '50 ft', to: '60 ft' }).value).toBe(
    '[{from: 20 ft, to: 40 ft}, {from: 50 ft, to: 60 ft}]',
  )
})

test('what is taken away is a key, a thing, an element, or with the last of them its list', () => {
  expect(taking(form, 'rods.p1')).toEqual({ do: 'remove', owner: 'rods.p1' })
  expect(taking(form, 'rods.p1.reel')).toEqual({ do: 'remove', owner: 'rods.p1', key: 'reel' })
  expect(taking(form, 'water.current[1]').value).toMatch(/^\[\{depth: 0 ft[^[]*\}\]$/)
  expect(taking(form, 'wants.bands[0]')).toEqual({ do: 'remove', owner: 'wants', key: 'bands' })
})

test('a text that YAML could take for something else is quoted', () => {
  expect(flow({ a: '3 ft', b: 'x: y', c: ['#1', '-2'] })).toBe('{a: 3 ft, b: "x: y", c: ["#1", "-2"]}')
})
