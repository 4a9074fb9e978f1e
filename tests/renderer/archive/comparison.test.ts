import { describe, expect, it } from 'vitest'
import { Bench } from '../../../app/records/bench.ts'
import { Register } from '../../../app/records/register.ts'
import { comparedRows, expandedOf, inStyle, numberOr } from '../../../renderer/archive/comparison.model.ts'
import { recordChanges, restsOn, whyChanged } from '../../../renderer/archive/reasons.model.ts'

const link = { kind: 'tcp', host: '127.0.0.1', port: 5025 }
const bench = Bench.parse({
  id: 'b',
  name: 'bench',
  instruments: [{ id: 'bridge', name: 'Bridge', profile: 'p', link, register: 'bridge-7' }],
  channels: [
    {
      id: 'ref',
      name: 'Reference',
      role: 'reference',
      instrument: 'bridge',
      thermometer: 't-ref',
      reference: { kind: 'resistor', resistor: 'r-100' },
    },
    {
      id: 'prt-a',
      name: 'PRT A',
      role: 'under-test',
      instrument: 'bridge',
      thermometer: 't-a',
      reference: { kind: 'channel', channel: 'helper' },
    },
    {
      id: 'helper',
      name: 'Helper',
      role: 'monitor',
      instrument: 'bridge',
      thermometer: 't-helper',
      reference: { kind: 'resistor', resistor: 'r-25' },
    },
    { id: 'lone', name: 'Lone', role: 'under-test', instrument: 'bridge', thermometer: 't-lone' },
  ],
})
const thermometer = (id: string, more: object = {}) => ({
  id,
  name: id,
  kind: 'sprt',
  lowC: 0,
  highC: 100,
  ...more,
})
const then = Register.parse({
  thermometers: [
    thermometer('t-ref', { wtpHistory: [{ date: '2026-03-09', ohm: '25.467144', uOhm: 1e-5 }] }),
    thermometer('t-a'),
    thermometer('t-lone'),
  ],
})
const now = Register.parse({
  thermometers: [
    thermometer('t-ref', {
      wtpHistory: [
        { date: '2026-03-09', ohm: '25.467246', uOhm: 1e-5 },
        { date: '2026-06-01', ohm: '25.467150', uOhm: 1e-5 },
      ],
    }),
    thermometer('t-a', { owner: 'somebody else' }),
  ],
})

describe('recordChanges', () => {
  it('says of every record that differs what in it differs', () => {
    expect(recordChanges(then, now)).toEqual([
      {
        id: 't-ref',
        words:
          't-ref: R(WTP) of 2026-03-09: 25.467144 Ω became 25.467246 Ω; R(WTP) of 2026-06-01 is new: 25.467150 Ω',
        short: 't-ref: R(WTP) of 2026-03-09; R(WTP) of 2026-06-01',
      },
      { id: 't-a', words: 't-a: its record was changed (owner)', short: 't-a: its record' },
    ])
    expect(recordChanges(then, then)).toEqual([])
  })
})

describe('restsOn', () => {
  it('follows a channel to its thermometer, its resistor, its bridge, and those of the reference', () => {
    expect([...restsOn('prt-a.coefficient.r0', bench)].sort()).toEqual(
      ['bridge-7', 'r-100', 'r-25', 't-a', 't-helper', 't-ref'].sort(),
    )
    expect([...restsOn('resistor.r-100.ohm', bench)]).toEqual(['r-100'])
    expect(restsOn('settled.2', bench).has('t-ref')).toBe(true)
    expect(restsOn('conditions.pressure.lowest', bench).size).toBe(0)
  })
})

describe('whyChanged', () => {
  it('names the changed records that a number rests on, and no others', () => {
    const changes = recordChanges(then, now)
    expect(whyChanged('lone.coefficient.r0', bench, changes)).toBe(
      't-ref: R(WTP) of 2026-03-09; R(WTP) of 2026-06-01',
    )
    expect(whyChanged('prt-a.coefficient.r0', bench, changes)).toContain('t-a: its record')
    expect(whyChanged('conditions.pressure.lowest', bench, changes)).toBe('')
  })
})

const number = (exact: number, uncertainty: string | null = null) => ({ exact, uncertainty, k: null })
const numbers = {
  'prt-a.coefficient.r0': number(100, '0.0017'),
  'prt-a.point.p-1.residual': number(0.1),
  'prt-a.point.p-1.t90': number(15),
  'prt-a.point.p-1.expanded': number(4, '4.0'),
  'prt-a.table.20.signal': number(107.8),
  'prt-a.table.20.slope': number(0.39),
  'prt-a.table.20.expanded': number(4, '4.0'),
}

describe('expandedOf', () => {
  it('takes what is printed beside a number, or that of its point in the number’s own unit', () => {
    expect(expandedOf('prt-a.coefficient.r0', numbers)).toBe(0.0017)
    expect(expandedOf('prt-a.point.p-1.residual', numbers)).toBe(4)
    expect(expandedOf('prt-a.point.p-1.t90', numbers)).toBe(0.004)
    expect(expandedOf('prt-a.table.20.signal', numbers)).toBeCloseTo(0.00156, 12)
    expect(expandedOf('prt-a.point.p-1.expanded', numbers)).toBeNull()
    expect(expandedOf('coverage-probability', numbers)).toBeNull()
  })
})

describe('comparedRows', () => {
  const line = (key: string, difference: string, changed = true) => ({
    key,
    what: key,
    old: '100',
    new: '101',
    difference,
    unit: '1',
    changed,
  })
  it('puts the largest change first, measured by the uncertainty, and what stayed the same last', () => {
    const rows = comparedRows(
      [
        line('same', '0', false),
        line('without', '1.0'),
        line('prt-a.point.p-1.residual', '-2.0'),
        line('prt-a.coefficient.r0', '0.0034'),
        line('gone', 'is no longer there'),
      ],
      numbers,
      () => 'because',
    )
    expect(rows.map(({ key }) => key)).toEqual([
      'prt-a.coefficient.r0',
      'prt-a.point.p-1.residual',
      'gone',
      'without',
      'same',
    ])
    expect(rows[0]!.part).toBeCloseTo(2, 12)
    expect(rows[1]!.part).toBeCloseTo(0.5, 12)
    expect(rows.map(({ why }) => why)).toEqual(['because', 'because', 'because', 'because', ''])
  })
})

describe('inStyle', () => {
  it('gives a number the reader’s decimal sign and leaves words and times alone', () => {
    expect(inStyle('-25.467144', ',')).toBe('−25,467144')
    expect(inStyle('8.760104e-8', '.')).toBe('8.760104×10⁻⁸')
    expect(inStyle('2026-03-12T18:19:05Z', ',')).toBe('2026-03-12T18:19:05Z')
    expect(numberOr('3.9e-3')).toBe(0.0039)
    expect(numberOr('')).toBe('')
  })
})
