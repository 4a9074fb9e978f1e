import { describe, expect, it } from 'vitest'
import { type CellSaid, plateauOfRecord } from '../../../app/checks/fixed-point-record.ts'
import { buildChain } from '../../../app/live/chain.ts'
import type { Reading } from '../../../app/records/reading.ts'
import { seededRandom } from '../../../app/statistics/random.ts'
import { BENCH, REGISTER } from '../results/bench-fixture.ts'

const channel = BENCH.channels.find((c) => c.id === 'ref')!
const thermometer = REGISTER.thermometers.find((t) => t.id === 'sprt')!
const chain = buildChain({ bench: BENCH, register: REGISTER, date: '2025-07-01' }, channel)

/** Readings every 10 s of a cell that holds a temperature, as ratios; every tenth at another current. */
function readings(celsius: number, mk = 0.2): Reading[] {
  const random = seededRandom(3)
  return Array.from({ length: 400 }, (_, i) => {
    const other = i % 10 === 5
    const at = celsius + ((other ? 4 : 2) + mk * random.normal()) / 1000
    const value = (chain.signalAt(at) / chain.resistor!.ohm).toFixed(10)
    return {
      seq: i + 1,
      channel: 'ref',
      utcUs: i * 10e6,
      monoUs: i * 10e6,
      raw: value,
      value: i === 7 ? null : value,
      unit: 'ratio',
      marks: i === 8 ? ['spike-suspected'] : [],
      currentMa: other ? Math.SQRT2 : 1,
    }
  })
}

const tin = 231.928
const said: CellSaid = { fixedPoint: 'Sn', depthM: 0.2, uCellMk: 0.3 }
const reduce = (given: Partial<CellSaid> = {}, celsius = tin, rWtp?: number) =>
  plateauOfRecord({ channel, chain, thermometer, readings: readings(celsius) }, { ...said, ...given }, rWtp)

describe('plateauOfRecord', () => {
  it('takes readings at the measuring current alone, and none that does not count', () => {
    const { plateau } = reduce()
    expect(plateau.kind).toBe('hold')
    expect(plateau.n).toBe(400 - 40 - 2)
  })

  it('takes self-heating in proportion to the power, and W from the R(WTP) in force', () => {
    const { request, value, w, notes, heatingFrom } = reduce({ withoutPair: true })
    expect(heatingFrom).toBe('register')
    // 2 mK at 25.5 ohm are 3.8 mK at tin, where R is 1.89 times as much.
    expect(request.selfHeatingMk).toBeCloseTo(2 * 1.89, 1)
    expect(value.ohm).toBeCloseTo(request.ohm - (request.ohmPerKelvin * request.selfHeatingMk) / 1000, 12)
    expect(w).toBeCloseTo(value.ohm / 25.50005, 12)
    expect(reduce({ withoutPair: true }, tin, 25.51).w).toBeCloseTo(value.ohm / 25.51, 12)
    expect(notes.join(' ')).toMatch(/from the register, in proportion to I²R/)
    const given = reduce({ selfHeating: { mk: 2, uMk: 0.1 } })
    expect(given.request).toMatchObject({ selfHeatingMk: 2, uSelfHeatingMk: 0.1 })
    expect(given.notes).toEqual([])
  })

  it('extrapolates to zero current where the session read at two, with the repeatability of both', () => {
    const { request, value, pair, heatingFrom, notes } = reduce()
    expect(heatingFrom).toBe('two-currents')
    expect(pair).toMatchObject({ lowMa: 1, nLow: 400 - 40 - 2, nHigh: 40 })
    // The readings are 2 mK warm at 1 mA and 4 mK at sqrt(2) mA: 2 mK for the first, whatever the register says.
    expect(request.selfHeatingMk).toBeCloseTo(2, 1)
    expect(Math.abs(value.ohm - chain.signalAt(tin)) / request.ohmPerKelvin).toBeLessThan(1e-4)
    const u = (name: string) => value.components.find((c) => c.name === name)!.uMk
    // Single readings of 0.2 mK: u1 = 0.2/sqrt(358), u2 = 0.2/sqrt(40); u^2(R0) = 4 u1^2 + u2^2 for sqrt(2) I.
    const expected = Math.hypot(2 * (0.2 / Math.sqrt(358)), 0.2 / Math.sqrt(40))
    expect(Math.hypot(u('Repeatability'), u('Self-heating'))).toBeCloseTo(expected, 2)
    expect(notes).toEqual([])
  })

  it('takes the value between two moments that a person chose, and says which readings those are', () => {
    const { plateau, used } = reduce({ used: { fromUtcUs: 1000e6, toUtcUs: 2000e6 } })
    expect(plateau.kind).toBe('chosen')
    expect(used).toEqual({ fromUtcUs: 1000e6, toUtcUs: 2000e6, firstSeq: 101, lastSeq: 201 })
    expect(() => reduce({ used: { fromUtcUs: 1000e6, toUtcUs: 1030e6 } })).toThrow(/there are 4/)
  })

  it('takes widely what nobody says, and says so', () => {
    const { value, notes } = plateauOfRecord(
      { channel, chain, thermometer, readings: readings(tin) },
      { fixedPoint: 'Sn', withoutPair: true },
    )
    const head = value.components.find((c) => c.name === 'Hydrostatic head')!
    // ITS-90 table 2: 2.2 mK per metre; anywhere up to 0.3 m.
    expect(head.uMk).toBeCloseTo((2.2 * 0.15) / Math.sqrt(3), 9)
    expect(value.components.find((c) => c.name === 'Cell')!.uMk).toBe(0.5)
    expect(notes).toHaveLength(3)
  })

  it('refuses a record that is nowhere near the cell named, and one that makes no resistance', () => {
    expect(() => reduce({ fixedPoint: 'In' })).toThrow(/No reading lies within 0.3 K/)
    expect(() =>
      plateauOfRecord(
        { channel, chain, thermometer, readings: readings(tin).map((r) => ({ ...r, unit: 'mA' })) },
        said,
      ),
    ).toThrow(/make no resistance/)
  })
})
