import { describe, expect, it } from 'vitest'
import {
  implausibleCell,
  implausibleInstrument,
  implausibleResistor,
  implausibleThermometer,
} from '../../../app/checks/implausible.ts'

type Resistor = Parameters<typeof implausibleResistor>[0]
type Thermometer = Parameters<typeof implausibleThermometer>[0]
type Instrument = Parameters<typeof implausibleInstrument>[0]
type Cell = Parameters<typeof implausibleCell>[0]

/** Bounds: common practice, no source. What lies on one is asked nothing; just beyond it there is one question. */
const ASKED = 1
const edges = (ask: (value: number) => string[], low: number, high: number) => {
  const beyond = (value: number, factor: number) => value + Math.abs(value) * factor
  expect([low, high].map((value) => ask(value).length)).toEqual([0, 0])
  expect([beyond(low, -0.01), beyond(high, 0.01)].map((value) => ask(value).length)).toEqual([ASKED, ASKED])
}
const most = (ask: (value: number) => string[], high: number) => {
  expect([high, -high, 1.01 * high].map((value) => ask(value).length)).toEqual([0, 0, ASKED])
}

describe('implausibleResistor', () => {
  const calibration = { ohm: '100', expandedRelative: 1e-6, driftPerYear: 0, alphaPerK: 0, k: 2 }
  const ask = (more: object, last: object = {}) =>
    implausibleResistor({
      ...{ name: 'R1', nominalOhm: 100, keptAtC: 20, uKeptAtK: 0.01 },
      calibrations: [
        { ...calibration, ohm: '1' },
        { ...calibration, ...last },
      ],
      ...more,
    } as unknown as Resistor)

  it('asks where a figure lies beyond what is usual, and names it with its unit', () => {
    edges((keptAtC) => ask({ keptAtC }), 10, 40)
    most((uKeptAtK) => ask({ uKeptAtK }), 2)
    edges((apart) => ask({}, { ohm: String(100 * (1 + apart)) }), -0.00499999, 0.00499999)
    edges((expandedRelative) => ask({}, { expandedRelative }), 1e-9, 1e-4)
    most((driftPerYear) => ask({}, { driftPerYear }), 2e-5)
    most((alphaPerK) => ask({}, { alphaPerK }), 1e-4)
    edges((k) => ask({}, { k }), 1, 4)
    expect(ask({}, { driftPerYear: -3e-5 })).toEqual([
      'It drifts by -30 ppm a year. Is it stated in ppm a year?',
    ])
    expect(ask({}, { ohm: '101' })).toEqual(['101 Ω differs by 10000 ppm from 100 Ω. Is a digit misplaced?'])
  })

  it('asks nothing of certificates where there is none', () => {
    expect(ask({ calibrations: [] })).toEqual([])
  })
})

describe('implausibleThermometer', () => {
  const ask = (more: object, uncertainty?: object) =>
    implausibleThermometer({
      ...{ kind: 'prt', nominalOhm: 100, currentMa: 1, selfHeatingMk: 2 },
      calibrations: uncertainty ? [{}, { uncertainty: { k: 2, points: [], ...uncertainty } }] : [],
      ...more,
    } as unknown as Thermometer)

  it('asks of platinum for resistance and current, of a thermistor for its current, of all for self-heating', () => {
    for (const kind of ['prt', 'sprt']) {
      edges((nominalOhm) => ask({ kind, nominalOhm }), 0.2, 2000)
      edges((currentMa) => ask({ kind, currentMa }), 0.05, 15)
    }
    edges((selfHeatingMk) => ask({ selfHeatingMk }), 0.01, 100)
    expect(ask({ kind: 'thermistor', nominalOhm: 1e4, currentMa: 0.2 })).toEqual([])
    expect(ask({ kind: 'thermistor', nominalOhm: 1e4, currentMa: 0.21 })).toEqual([
      'A thermistor at 0.21 mA heats itself. Is the current in mA, not in µA?',
    ])
    // What is not stated, or stated as none.
    expect(ask({ nominalOhm: undefined, selfHeatingMk: 0, currentMa: undefined })).toEqual([])
  })

  it('asks for uncertainties beyond those of its kind, but not at the triple point of water', () => {
    const at = (celsius: number, kind: string) => (expandedMk: number) =>
      ask({ kind }, { points: [{ celsius, expandedMk }] })
    edges(at(100, 'sprt'), 0.05, 50)
    edges(at(100, 'prt'), 0.5, 5000)
    edges((k) => ask({}, { k }), 1, 4)
    expect(at(0.01, 'sprt')(0.001)).toEqual([])
    // Within 0.05 K of 0.01 °C.
    expect([at(0.0599, 'sprt')(0.001).length, at(0.0601, 'sprt')(0.001).length]).toEqual([0, ASKED])
    expect(at(0.1, 'sprt')(0.001)).toEqual([
      'The expanded uncertainty at 0.1 °C is 0.001 mK. Is the unit mK?',
    ])
  })
})

describe('implausibleInstrument and implausibleCell', () => {
  it('ask for a bridge in ratio, and for a cell in metres and millikelvin', () => {
    const bridge = (figures: object) => implausibleInstrument({ bridge: figures } as unknown as Instrument)
    edges((linearityRatio) => bridge({ linearityRatio }), 1e-10, 1e-4)
    edges((resolutionRatio) => bridge({ resolutionRatio }), 1e-10, 1e-4)
    expect(bridge({ linearityRatio: 0.02 })).toEqual([
      "The bridge's linearity is 20000 ppm of ratio 1. Is it stated in ppm?",
    ])
    expect(implausibleInstrument({} as Instrument)).toEqual([])
    const cell = (more: object) =>
      implausibleCell({ name: 'Zn', depthM: 0.2, uMk: 0.5, ...more } as unknown as Cell)
    edges((depthM) => cell({ depthM }), 0.05, 0.5)
    edges((uMk) => cell({ uMk }), 0.005, 20)
    expect(cell({ depthM: 200 })).toEqual(['Zn: the element is 200 m below the surface. Is the unit m?'])
  })
})
