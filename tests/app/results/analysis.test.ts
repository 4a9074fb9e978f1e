import { describe, expect, it } from 'vitest'
import type { SessionEvent } from '../../../app/records/session.ts'
import { type Analysis, analyse, type ThermometerResult } from '../../../app/results/analysis.ts'
import { unmadeOf } from '../../../app/results/findings.ts'
import { templateFor } from '../../../app/results/uncertainty-template.ts'
import { simulate } from '../../report/fixture.ts'

const QUICK = { monteCarloTrials: 0 }
const of = (analysis: Analysis, channel: string): ThermometerResult =>
  analysis.thermometers.find((t) => t.record.channel.id === channel)!

const event = (
  n: number,
  kind: SessionEvent['kind'],
  who: string,
  data: Record<string, unknown>,
): SessionEvent => ({
  n,
  utcUs: Date.parse('2026-03-03T09:00:00Z') * 1000 + n * 60e6,
  monoUs: 0,
  kind,
  who,
  subject: null,
  words: `${kind} ${n}`,
  data,
})

describe('analyse', () => {
  it('remarks on everything it rests on whose calibration was due before the session, and not on an item under test', () => {
    const { input } = simulate()
    const { register } = input.setup
    const due = '2026-02-28'
    const overdue = <T extends { calibrations: readonly object[] }>(record: T): T => ({
      ...record,
      calibrations: record.calibrations.map((calibration) => ({ ...calibration, due })),
    })
    const setup = {
      ...input.setup,
      register: {
        ...register,
        thermometers: register.thermometers.map(overdue),
        resistors: register.resistors.map(overdue),
        instruments: register.instruments.map((instrument) => ({ ...instrument, due })),
      },
    }
    const said = (given: typeof input.setup) =>
      analyse({ ...input, setup: given, options: QUICK }).remarks.filter((words) => /was due on/.test(words))
    expect(said(input.setup)).toEqual([])
    const reference = register.thermometers.find(({ id }) => id === 'ref-25')!
    const named = [reference, ...register.resistors, ...register.instruments].map(({ name }) => name)
    expect(said(setup).toSorted()).toEqual(
      named.map((name) => `The calibration of ${name} was due on ${due}.`).toSorted(),
    )
  })

  it('gives back the true coefficients of every kind of thermometer where nothing is in error', () => {
    const { input } = simulate({ errors: 0 })
    const analysis = analyse({ ...input, options: QUICK })
    const coefficient = (channel: string, name: string) =>
      of(analysis, channel).coefficients.find((c) => c.name === name)!.value
    expect(coefficient('x1', 'r0')).toBeCloseTo(100.0231, 5)
    expect(coefficient('x1', 'a')).toBeCloseTo(3.9072e-3, 9)
    expect(coefficient('x1', 'b')).toBeCloseTo(-5.771e-7, 11)
    expect(coefficient('x3', 'rWtp')).toBeCloseTo(25.512345, 6)
    expect(coefficient('x3', 'a')).toBeCloseTo(-1.71e-4, 7)
    expect(coefficient('x4', '0')).toBeCloseTo(1.1286e-3, 9)
    expect(coefficient('x4', '3')).toBeCloseTo(8.79e-8, 12)
  })

  it('gives the same result for the same session, digit by digit', () => {
    const run = () => {
      const analysis = analyse({ ...simulate({ seed: 5 }).input, options: { monteCarloTrials: 20_000 } })
      return JSON.stringify(
        analysis.thermometers.map((t) => [
          t.coefficients.map((c) => [c.value, c.budget.u, c.budget.k]),
          t.points.map((p) => [p.residualMk, p.budget.expanded]),
          t.monteCarlo,
        ]),
      )
    }
    expect(run()).toBe(run())
  })

  it('refuses in words a thermometer whose points do not determine its coefficients', () => {
    const { input } = simulate({ setpoints: [0, 50], cell: 'none' })
    const result = of(analyse({ ...input, options: QUICK }), 'x4')
    expect(result.fit).toBeNull()
    expect(result.refusal).toMatch(/2 points cannot determine 3 coefficients/)
  })

  it('refuses a session without a reference, and one whose reference has no calibration', () => {
    const { input } = simulate()
    const bench = {
      ...input.setup.bench,
      channels: input.setup.bench.channels.map((c) => ({ ...c, role: 'under-test' as const })),
    }
    expect(() => analyse({ ...input, setup: { ...input.setup, bench } })).toThrow(/nothing to compare with/)
    const register = {
      ...input.setup.register,
      thermometers: input.setup.register.thermometers.map((t) => ({ ...t, calibrations: [] })),
    }
    expect(() => analyse({ ...input, setup: { ...input.setup, register } })).toThrow(
      /no calibration in force/,
    )
  })

  it('does not average away an error that all points share', () => {
    const { input } = simulate({ setpoints: [0, 20, 40, 60, 80, 100, 10, 30, 50, 70, 90], cell: 'none' })
    const result = of(analyse({ ...input, options: QUICK }), 'x1')
    const line = result.fit!.atTemperature(50).lines.find((l) => l.component === 'self-heating-under-test')!
    // A fifth of 6 mK at 100 ohm, at 50 degC of 119.4 ohm.
    expect(line.u).toBeCloseTo(1.433, 2)
    const noise = result.fit!.atTemperature(50).lines.find((l) => l.component === 'bath-stability')!
    expect(noise.u).toBeLessThan(0.25)
  })

  it('lets an error of a shared resistor cancel between alike thermometers and act on unlike ones', () => {
    const { input } = simulate({ cell: 'none' })
    const analysis = analyse({ ...input, options: QUICK })
    const at = (channel: string) =>
      of(analysis, channel)
        .points.find((p) => p.pair.point === 'p3')!
        .budget.lines.find((l) => l.component === 'resistor-calibration')!.u
    // 2e-7 of R is about 0.06 mK at 50 degC; the thermistor hangs on a resistor of its own.
    expect(at('x3')).toBeLessThan(0.001)
    expect(at('x1')).toBeLessThan(0.01)
    expect(at('x4')).toBeGreaterThan(0.05)
  })

  it('leaves out a point that a person left out, and takes it back in', () => {
    const { input } = simulate()
    const out = event(10, 'amendment', 'B. Wend', {
      target: { what: 'point', point: 'p5', channel: 'x1' },
      restore: false,
      why: 'probe was moved',
    })
    const back = event(11, 'amendment', 'B. Wend', {
      target: { what: 'point', point: 'p5', channel: 'x1' },
      restore: true,
      why: 'it was not',
    })
    const leftOut = analyse({ ...input, events: [...input.events, out], options: QUICK })
    const point = (analysis: Analysis, channel: string) =>
      of(analysis, channel).points.find((p) => p.pair.point === 'p5')!
    expect(point(leftOut, 'x1').included).toBe(false)
    expect(point(leftOut, 'x2').included).toBe(true)
    const restored = analyse({ ...input, events: [...input.events, out, back], options: QUICK })
    expect(point(restored, 'x1').included).toBe(true)
  })

  it('recomputes the past through a corrected record', () => {
    const { input } = simulate({ errors: 0, cell: 'none' })
    const reference = input.setup.register.thermometers[0]!
    const calibration = reference.calibrations[0]!
    const corrected = {
      ...reference,
      wtpHistory: [],
      calibrations: [{ ...calibration, conversion: { ...calibration.conversion, rWtp: '25.4822371' } }],
    }
    const amendment = event(10, 'amendment', 'B. Wend', {
      register: { thermometers: [corrected] },
      why: 'misprint',
    })
    const before = of(analyse({ ...input, options: QUICK }), 'x4')
    const after = of(analyse({ ...input, events: [...input.events, amendment], options: QUICK }), 'x4')
    // R(WTP) higher by 1 mohm (39 parts in a million) makes every temperature lower: about 12 mK at 50 degC.
    const moved = after.points[2]!.pair.referenceC - before.points[2]!.pair.referenceC
    expect(moved * 1e3).toBeCloseTo(-12.1, 0)
  })

  it('says when R(WTP) of the reference has moved since its last entry', () => {
    const { input } = simulate({ errors: 0 })
    const [reference, ...others] = input.setup.register.thermometers
    const moved = { ...reference!, wtpHistory: [{ date: '2026-01-02', ohm: '25.4813371', uOhm: 0.00001 }] }
    const setup = { ...input.setup, register: { ...input.setup.register, thermometers: [moved, ...others] } }
    const { remarks, referenceWtp } = analyse({ ...input, setup, options: QUICK })
    expect(referenceWtp?.sinceLast?.moved).toBe(true)
    expect(remarks.join(' ')).toMatch(/has moved by -0\.9\d mK/)
  })

  it('says what the records do not state, so that a budget without it is not taken for a whole one', () => {
    const { input } = simulate()
    const { bench, register } = input.setup
    const setup = {
      ...input.setup,
      bench: { ...bench, bath: { ...bench.bath!, uniformityMk: 0 } },
      register: { ...register, instruments: [] },
    }
    const words = analyse({ ...input, setup, options: QUICK }).remarks.join(' ')
    expect(words).toMatch(/no uniformity of the bath/)
    expect(words).toMatch(/no linearity and resolution of bridge/)
    expect(analyse({ ...input, options: QUICK }).remarks).toEqual([])
  })

  it('takes residuals that the budget cannot explain into the budget', () => {
    const { input } = simulate({ errors: 0 })
    const points = input.points.map((p) =>
      p.id !== 'p2'
        ? p
        : {
            ...p,
            channels: p.channels.map((c) =>
              c.channel === 'x3' ? { ...c, rawMean: c.rawMean * (1 + 8e-5) } : c,
            ),
          },
    )
    const result = of(analyse({ ...input, points, options: QUICK }), 'x3')
    expect(result.fit!.excess).not.toBeNull()
    expect(result.remarks.join(' ')).toMatch(/larger than the budget explains/)
    // One scatter for all points is one estimate, on the curve as well: its few degrees of freedom do not add up.
    const line = result.fit!.atTemperature(50).lines.find((l) => l.component === 'repeatability')!
    expect(line.degreesOfFreedom).toBe(result.fit!.excess!.degreesOfFreedom)
  })
})

describe('analyse, what is said of points', () => {
  const { input } = simulate({ seed: 2 })
  const x1 = (points: typeof input.points) => of(analyse({ ...input, points, options: QUICK }), 'x1')
  const unsettled = (...ids: string[]) =>
    x1(input.points.map((p) => ({ ...p, settled: !ids.includes(p.id) }))).remarks.filter((words) =>
      /settling rule/.test(words),
    )

  it('tells of scatter that all thermometers show together by how many times it is what was expected', () => {
    const loud = analyse({ ...simulate({ seed: 3, errors: 4 }).input, options: QUICK })
    const [told] = loud.findings.filter(({ kind, channels }) => kind === 'scatter' && channels === null)
    const fits = loud.thermometers.map(({ fit }) => fit!.scatter).filter(({ freedom }) => freedom > 0)
    const sum = (of: (s: (typeof fits)[number]) => number) => fits.reduce((all, s) => all + of(s), 0)
    const times = Math.sqrt(sum((s) => s.chiSquared) / sum((s) => s.freedom))
    expect(times).toBeGreaterThan(1)
    expect(told!.words).toContain(
      `The residuals of all ${fits.length} thermometers together are ${times.toPrecision(2)} times`,
    )
    const quiet = analyse({ ...simulate({ seed: 3, errors: 0.1 }).input, options: QUICK })
    expect(quiet.findings.filter(({ kind }) => kind === 'scatter')).toEqual([])
  })

  it('says that R(WTP) of a reference was not measured before and after, where it was not', () => {
    const unmade = (cell: 'none' | 'under-test' | 'all') =>
      analyse({ ...simulate({ cell }).input, options: QUICK }).unmade.filter(({ check }) => check === 'wtp')
    expect(unmade('all')).toEqual([])
    for (const cell of ['none', 'under-test'] as const)
      expect(unmade(cell)).toEqual([
        {
          check: 'wtp',
          words: expect.stringMatching(/^R\(0\.01 °C\) of Reference SPRT Q-25 was not measured/),
        },
      ])
  })

  it('names the checks that were not made of a thermometer, and those alone', () => {
    const analysis = analyse({ ...input, options: QUICK })
    const plain = of(analysis, 'x1')
    const around = {
      references: [],
      wtps: [],
      exchanges: [],
      hasSurvey: true,
      uniformity: { uMk: () => 1, degreesOfFreedom: Number.POSITIVE_INFINITY, source: 'survey' },
    }
    const whole = {
      lift: { celsius: 100, changeMk: 0, uMk: 0.1, liftMm: 20 },
      insulationOhm: 1e9,
      bothWays: true,
    }
    const unmade = (without: object) =>
      unmadeOf([{ ...plain, beside: { ...plain.beside!, ...whole, ...without } }], around).map(
        ({ check }) => check,
      )
    // The fixture has no pairs of currents.
    expect(unmade({})).toEqual(['pairs'])
    expect(unmade({ lift: null })).toEqual(['lift', 'pairs'])
    expect(unmade({ bothWays: false })).toEqual(['first-again', 'pairs'])
    expect(unmade({ insulationOhm: null })).toEqual(['insulation', 'pairs'])
    expect(unmadeOf([], around)).toEqual([])
    expect(unmadeOf([], { ...around, hasSurvey: false }).map(({ check }) => check)).toEqual(['exchange'])
  })

  it('names those that were taken before the settling rule held', () => {
    expect(unsettled()).toEqual([])
    expect(unsettled('p2')).toEqual(['One point was taken before the settling rule held: p2.'])
    expect(unsettled('p2', 'p3')).toEqual(['2 points were taken before the settling rule held: p2, p3.'])
  })

  it('says of each that was used how far off it were had it not been, and of the others nothing', () => {
    const { events } = input
    const out = event(10, 'amendment', 'B. Wend', {
      target: { what: 'point', point: 'p3', channel: 'x1' },
      restore: false,
      why: 'probe was moved',
    })
    const { points, fit } = of(analyse({ ...input, events: [...events, out], options: QUICK }), 'x1')
    expect(points.filter((p) => p.included).length).toBeGreaterThan(4)
    for (const p of points) {
      const index = points.filter((q) => q.included).indexOf(p)
      if (p.included)
        // A residual without the point is larger by 1/(1 - h), h its leverage.
        expect((p.leaveOneOutMk! / p.residualMk) * (1 - fit!.fit.leverages[index]!)).toBeCloseTo(1, 2)
      else expect(p.leaveOneOutMk).toBeNull()
      // A point that was used has its own budget, one that was not that of the curve.
      expect(p.budget.u === p.curve.u).toBe(!p.included)
    }
    expect(points.filter((p) => !p.included).map((p) => p.pair.point)).toEqual(['p3'])
  })
})

describe('analyse, a capability stated in the budget template', () => {
  it('says where U is smaller than the laboratory may state, and what to do', () => {
    const { input } = simulate({ seed: 4 })
    const template = templateFor('prt')
    const remarksWith = (expandedMk: number) =>
      analyse({
        ...input,
        options: {
          monteCarloTrials: 0,
          templates: [{ ...template, capability: [{ celsius: 0, expandedMk }] }],
        },
      }).thermometers.find((t) => t.record.channel.id === 'x1')!.remarks
    expect(remarksWith(50).join(' ')).toMatch(
      /smaller than the calibration and measurement capability .* at p1 \(3\.\d mK against 50 mK\).*Raise a component/,
    )
    expect(remarksWith(0.1).join(' ')).not.toMatch(/capability/)
  })
})

describe('analyse, thermocouples', () => {
  /** t90 = 25.9 E - 0.06 E^2, solved for E in mV. */
  const emf = (t: number) => (25.9 - Math.sqrt(25.9 ** 2 - 0.24 * t)) / 0.12

  function withThermocouple() {
    const { input } = simulate({ errors: 0, cell: 'none', setpoints: [10, 30, 50, 70, 90] })
    const channel = {
      ...input.setup.bench.channels[1]!,
      id: 'x5',
      name: 'X5',
      thermometer: 'couple-x5',
      junction: { kind: 'fixed' as const, celsius: 0 },
    }
    const { reference: _r, ...bare } = channel
    const thermometer = {
      id: 'couple-x5',
      name: 'Thermocouple K',
      kind: 'thermocouple' as const,
      maker: 'Quennick',
      model: 'TC',
      serial: '9001',
      owner: '',
      lowC: 0,
      highC: 200,
      currentMa: 1,
      calibrations: [],
      wtpHistory: [],
    }
    const { bench, register } = input.setup
    const setup = {
      ...input.setup,
      bench: { ...bench, channels: [bench.channels[0]!, bare] },
      register: { ...register, thermometers: [register.thermometers[0]!, thermometer] },
    }
    const points = input.points.map((p) => {
      const own = p.channels.find((c) => c.channel === 's0')!
      const placeC = simulate({ errors: 0, cell: 'none', setpoints: [10, 30, 50, 70, 90] }).truth.celsius.x1![
        p.id
      ]!
      const mv = emf(placeC)
      return {
        ...p,
        channels: [
          own,
          {
            ...own,
            channel: 'x5',
            rawUnit: 'mV',
            rawMean: mv,
            rawSd: 1e-5,
            signal: mv,
            t90C: null,
            referenceC: own.t90C,
            uTypeAMk: null,
          },
        ],
      }
    })
    return { ...input, setup, points }
  }

  it('fits a polynomial in the voltage and states it in degC per millivolt', () => {
    const result = of(analyse({ ...withThermocouple(), options: QUICK }), 'x5')
    expect(result.refusal).toBeNull()
    expect(result.signalUnit).toBe('mV')
    expect(result.coefficients.map((c) => c.unit)).toEqual(['°C', '°C/mV', '°C/mV²'])
    for (const p of result.points) expect(Math.abs(p.residualMk)).toBeLessThan(2)
    expect(result.coefficients[1]!.value).toBeCloseTo(25.9, 2)
    expect(result.points[0]!.budget.lines[0]!.component).toBe('reference-junction')
    expect(result.points[2]!.pair.underTestMkPerRelative).toBeCloseTo(
      emf(50) * (25.9 - 0.12 * emf(50)) * 1e3,
      -2,
    )
  })
})
