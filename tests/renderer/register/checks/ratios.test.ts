import { describe, expect, it } from 'vitest'
import { withBridgeCheck } from '../../../../app/checks/check-record.ts'
import { allNetworks, networkValue, networkWords } from '../../../../app/checks/network.ts'
import { BridgeCheckRecord, InstrumentRecord, type Resistor } from '../../../../app/records/register.ts'
import {
  filled,
  knownRatio,
  RATIO_COLUMNS,
  readNetwork,
  readRows,
  resultOfRows,
  rowsOfNetworks,
  verdictOf,
  withPasted,
  withTaken,
} from '../../../../renderer/register/checks/ratios.model.ts'

describe('readNetwork', () => {
  it('reads back every combination as it is written, nested ones too', () => {
    for (const network of allNetworks(['a', 'b', 'c']))
      expect(readNetwork(networkWords(network))).toEqual(network)
    expect(readNetwork('a || (b + c)')).toEqual({
      kind: 'parallel',
      parts: [
        { kind: 'one', resistor: 'a' },
        {
          kind: 'series',
          parts: [
            { kind: 'one', resistor: 'b' },
            { kind: 'one', resistor: 'c' },
          ],
        },
      ],
    })
  })

  it('takes nothing that is no combination for one', () => {
    for (const text of ['', 'a +', '|| a', 'a b', '(a', 'a + b || c', '25 over 100'])
      expect(readNetwork(text), text).toBeUndefined()
  })
})

describe('withPasted', () => {
  it('puts a block from a spreadsheet into the rows from one cell on, and adds rows', () => {
    const columns = RATIO_COLUMNS.networks
    const rows = withPasted([{ name: 'a' }], columns, { row: 0, column: 1 }, '0,25\t2e-9\r\n0,5\t3e-9\r\n')
    expect(rows).toEqual([
      { name: 'a', ratio: '0,25', u: '2e-9' },
      { ratio: '0,5', u: '3e-9' },
    ])
  })
})

describe('withTaken', () => {
  it('fills the row that still lacks what was taken, and begins another where none does', () => {
    const known = { name: 'a over b', known: '0.25', uKnown: '1e-8' }
    const rows = withTaken([], known)
    expect(rows).toEqual([known])
    const shown = { name: 'channel 3', ratio: '0.25000001', u: '2e-9' }
    expect(withTaken(rows, shown)).toEqual([{ ...known, ratio: '0.25000001', u: '2e-9' }])
    expect(withTaken(withTaken(rows, shown), shown)).toHaveLength(2)
  })
})

describe('knownRatio', () => {
  const resistor = (id: string, ohm: string): Resistor => ({
    id,
    name: id,
    maker: '',
    serial: '',
    nominalOhm: Number(ohm),
    keptAtC: 20,
    uKeptAtK: 0,
    calibrations: [
      {
        id,
        date: '2026-01-01',
        certificate: '',
        laboratory: '',
        ohm,
        celsius: 20,
        alphaPerK: 0,
        betaPerK2: 0,
        driftPerYear: 0,
        expandedRelative: 4e-7,
        k: 2,
        uDriftPerYear: 0,
      },
    ],
  })
  it('takes both values of the day with their uncertainty, and nothing without a calibration', () => {
    const [a, b] = [resistor('a', '25.0001'), resistor('b', '100.0002')]
    const found = knownRatio(a, b, '2026-02-01')!
    expect(Number(found.known)).toBeCloseTo(25.0001 / 100.0002, 11)
    // Two independent values of 2e-7 each (k = 1).
    expect(Number(found.uKnown) / 0.25).toBeCloseTo(2e-7 * Math.SQRT2, 9)
    expect(knownRatio(a, b, '2025-12-31')).toBeUndefined()
  })
})

describe('readRows', () => {
  it('reads commas and parts in a million, and names what is no number by its place', () => {
    const { rows, names, problems } = readRows(
      [
        { name: '', ratio: '0,250 000 12', u: '0.02 ppm' },
        { name: 'b', ratio: 'n', u: '1e-9' },
      ],
      RATIO_COLUMNS.networks,
    )
    expect(rows[0]).toEqual({ ratio: 0.25000012, u: 2e-8 })
    expect(names).toEqual(['row 1', 'b'])
    expect(Object.keys(problems)).toEqual(['1 ratio'])
    expect(readRows([{ name: 'c', ratio: '1', u: ' ' }], RATIO_COLUMNS.networks).problems).toEqual({})
    expect(filled([{ name: ' ' }, { ratio: '1' }])).toHaveLength(1)
  })
})

describe('resultOfRows', () => {
  it('finds the error in n² that a bridge has from combinations of resistors, and says so', () => {
    const values = { a: 0.25, b: 0.5, c: 1 }
    const rows = rowsOfNetworks(['a', 'b', 'c']).map(({ name }) => {
      const n = networkValue(readNetwork(name!)!, values).value
      return { name: name!, ratio: (n + 2e-7 * n * n).toPrecision(15), u: '1e-9' }
    })
    const result = resultOfRows('networks', rows, { instrument: 'bridge', date: '2026-03-01' })
    expect(result.missing).toBeUndefined()
    expect(result.request).toMatchObject({ check: 'networks', instrument: 'bridge', date: '2026-03-01' })
    expect(result.terms!.terms.find(({ power }) => power === 2)!.value).toBeCloseTo(2e-7, 10)
    expect(verdictOf('networks', result)).toMatch(/^The bridge shows an error beyond its uncertainty at /)
  })

  it('holds the product of both ways round against 1', () => {
    const good = {
      name: '25 over 100',
      ratio: '0.25',
      u: '1e-9',
      reciprocal: '4.00000001',
      uReciprocal: '1e-8',
    }
    const fine = resultOfRows('interchange', [good], {})
    expect(fine.dots[0]).toMatchObject({ agrees: true })
    expect(fine.dots[0]!.error).toBeCloseTo(2.5e-9, 15)
    const bad = resultOfRows('interchange', [{ ...good, reciprocal: '4.000001' }], {})
    expect(verdictOf('interchange', bad)).toMatch(/^25 over 100: the product departs from 1/)
  })

  it('says what is missing before there is a result', () => {
    // A zero is a known ratio of 0, exactly, which may be shown on either side of it; nothing else may be below.
    const zero = { name: 'zero', ratio: '-1.2e-9', u: '3e-9', known: '0', uKnown: '0' }
    const one = { name: 'one', ratio: '1.00000001', u: '3e-9', known: '1', uKnown: '1e-8' }
    const { dots, curve, request } = resultOfRows('ratios', [zero, one], {})
    expect(dots[0]).toMatchObject({ name: 'zero', error: -1.2e-9, expanded: 6e-9, agrees: true })
    expect(curve!.curve[0]!.ratio).toBe(-1.2e-9)
    const bridge = InstrumentRecord.parse({
      id: 'b',
      name: 'B',
      role: 'ratio-bridge',
      bridge: { linearityRatio: 1e-8, resolutionRatio: 1e-9, highestRatio: 2 },
    })
    const { check } = withBridgeCheck(bridge, request!, '2026-03-01')
    expect(BridgeCheckRecord.parse(check).curve![0]!.ratio).toBe(-1.2e-9)
    expect(readRows([{ ...zero, u: '0' }], RATIO_COLUMNS.ratios).problems).toEqual({
      '0 u': 'A number above 0',
    })
    expect(resultOfRows('ratios', [{ ...one, ratio: '-1' }], {}).missing).toMatch(
      /unless the known ratio is 0/,
    )
    expect(resultOfRows('ratios', [], {}).missing).toMatch(/Type ratios/)
    expect(resultOfRows('ratios', [{ name: 'x', ratio: '1' }], {}).missing).toMatch(/no number yet/)
    const few = [{ name: 'a', ratio: '0.25', u: '1e-9' }]
    expect(resultOfRows('networks', few, {}).missing).toMatch(/take at least 4/)
    expect(resultOfRows('networks', [{ name: 'a +', ratio: '1', u: '1' }], {}).missing).toMatch(
      /no combination of resistors/,
    )
  })
})
