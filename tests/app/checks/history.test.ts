import { describe, expect, it } from 'vitest'
import { controlChart } from '../../../app/checks/control-chart.ts'
import { bridgeChart, chartVerdict, chartView, resistorChart, wtpChart } from '../../../app/checks/history.ts'
import { ChartView } from '../../../app/contract/checks.ts'
import { InstrumentRecord, Resistor, Thermometer } from '../../../app/records/register.ts'

describe('wtpChart', () => {
  it('shows R(0.01 °C) as a temperature against its first entry', () => {
    const thermometer = Thermometer.parse({
      id: 't',
      name: 'SPRT',
      kind: 'sprt',
      lowC: 0,
      highC: 420,
      wtpHistory: [
        { date: '2024-01-01', ohm: '25.4812345', uOhm: 1e-5 },
        { date: '2025-01-01', ohm: '25.4813361', uOhm: 1e-5 },
      ],
    })
    // 0.1 ohm/K: 101.6 microohm are 1 mK.
    expect(wtpChart(thermometer).entries[1]!.value).toBeCloseTo(1, 2)
  })
})

describe('resistorChart', () => {
  it('shows comparisons beside calibrations, but for those that became one', () => {
    const calibration = (id: string, date: string, ohm: string) => ({
      id,
      date,
      certificate: '',
      laboratory: '',
      ohm,
      celsius: 20,
      expandedRelative: 4e-7,
      k: 2,
    })
    const compared = (date: string, ohm: string, made?: string) => ({
      id: `compared-${date}`,
      date,
      against: 'better',
      ratio: '1',
      uRatio: 1e-8,
      ohm,
      uRelative: 1e-7,
      expected: null,
      ...(made && { calibration: made }),
    })
    const chart = resistorChart(
      Resistor.parse({
        id: 'r',
        name: 'R',
        nominalOhm: 100,
        keptAtC: 20,
        uKeptAtK: 0.02,
        calibrations: [calibration('r-2', '2026-01-01', '100.0002'), calibration('r-1', '2024-01-01', '100')],
        comparisons: [compared('2025-01-01', '100.0001'), compared('2026-01-01', '100.0002', 'r-2')],
      }),
    )
    expect(chart.entries.map((e) => e.date)).toEqual(['2024-01-01', '2025-01-01', '2026-01-01'])
    expect(chart.entries.map((e) => e.value)).toEqual([0, expect.closeTo(1, 6), expect.closeTo(2, 6)])
    expect(chart.entries[1]!.u).toBeCloseTo(0.1, 12)
  })
})

describe('bridgeChart', () => {
  it('shows the linearity that the checks of a bridge found', () => {
    const chart = bridgeChart(
      InstrumentRecord.parse({
        id: 'b',
        name: 'B',
        role: 'ratio-bridge',
        checks: [
          {
            id: 'x',
            kind: 'network',
            date: '2026-01-01',
            linearityRatio: 3e-8,
            agrees: true,
            results: [{ name: 'n', value: 3e-8, u: 1e-8 }],
          },
        ],
      }),
    )
    expect(chart.entries).toEqual([
      { date: '2026-01-01', value: expect.closeTo(30, 9), u: expect.closeTo(10, 9), session: undefined },
    ])
    expect(chartVerdict(chart)).toMatch(/^No limits yet: 1 entry;/)
  })
})

const entries = (values: readonly number[], u = 0.1) =>
  values.map((value, i) => ({ date: `20${10 + i}-01-01`, value, u }))

describe('chartVerdict', () => {
  const verdict = (values: readonly number[], u = 0.1) =>
    chartVerdict(controlChart('x', 'mK', entries(values, u)))

  it('judges the newest entry, and remembers what lies behind', () => {
    expect(verdict([])).toBe('There is no entry yet.')
    expect(verdict([0, 0.1, 0, -0.1, 0])).toMatch(/^In control: .* within the limits\.$/)
    expect(verdict([0, 0.1, 0, -0.1, 0, 0.1, 0, -0.1, 0, 0.1, 0, 2.5])).toMatch(
      /^Out of control: .*2021-01-01/,
    )
    expect(verdict([0, 0.1, 0, -0.1, 0, 2.5, 0, 0.1, 0, 0.1, 0, -0.1])).toMatch(
      /^In control: .* Earlier: x on 2015/,
    )
    expect(verdict([1, 1, 1, 1, 1, 1, -1, -1, -1, -1, -1, -1, -1], 1)).toMatch(/^Moved: /)
    expect(verdict([0, 0.1, 0, -0.1, 0, 0.1, 0, -0.1, 0, 0.1, 0, 0.26])).toMatch(/^To be watched: /)
  })
})

describe('chartView', () => {
  it('is what the contract lets through', () => {
    const view = chartView(controlChart('x', 'mK', entries([0, 0.1, 0, -0.1, 0])), 0)
    expect(ChartView.parse(JSON.parse(JSON.stringify(view)))).toEqual(view)
  })
})
