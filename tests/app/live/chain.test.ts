import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { buildChain, buildChains, refuseCircle } from '../../../app/live/chain.ts'
import { uCalibrationMk } from '../../../app/live/chain-uncertainty.ts'
import { nominalConversion } from '../../../app/live/nominal.ts'
import type { Channel } from '../../../app/records/bench.ts'
import { Thermometer } from '../../../app/records/register.ts'
import { BENCH, REGISTER } from '../results/bench-fixture.ts'

const source = { bench: BENCH, register: REGISTER, date: '2025-07-01' }
const [ref, x, y] = BENCH.channels as [
  (typeof BENCH.channels)[number],
  (typeof BENCH.channels)[number],
  (typeof BENCH.channels)[number],
]

describe('buildChain', () => {
  it('leads from a temperature to a ratio and back within a microkelvin over the whole range', () => {
    const chain = buildChain(source, ref)
    fc.assert(
      fc.property(fc.double({ min: 0.01, max: 231, noNaN: true }), (celsius) => {
        const ratio = chain.signalAt(celsius) / chain.resistor!.ohm
        // The self-heating of 2 mK at 1 mA and 25.5 ohm is taken off, in proportion to the resistance.
        const heating = 0.002 * (chain.signalAt(celsius) / 25.5)
        expect(chain.convert(ratio, 'ratio', 1).celsius).toBeCloseTo(celsius - heating, 6)
      }),
    )
  })

  it('takes R(WTP) and the resistor as they were in force on the date', () => {
    const early = buildChain({ ...source, date: '2025-03-01' }, ref)
    const late = buildChain(source, ref)
    expect(early.wtp!.ohm).toBe('25.5000000')
    expect(late.wtp!.ohm).toBe('25.5000500')
    // 50 microohm more at the triple point are about half a millikelvin less for the same resistance.
    const apart = late.convert(0.255, 'ratio', 1).celsius - early.convert(0.255, 'ratio', 1).celsius
    expect(apart).toBeCloseTo(-0.00049, 5)
    expect(() => buildChain({ ...source, date: '2025-01-20' }, ref)).toThrow(
      'no calibration in force on 2025-01-20',
    )
  })

  it('scales the self-heating it takes off with the square of the current', () => {
    const chain = buildChain(source, ref)
    const at = (mA: number) => chain.convert(0.3, 'ratio', mA).celsius
    // Power is I^2 R: 2 mK at 25.5 ohm are more at 30 ohm.
    expect(at(1) - at(Math.SQRT2)).toBeCloseTo(0.002 * (30 / 25.5), 7)
    expect(chain.celsiusOfSignal(30, 0) - chain.celsiusOfSignal(30, 1)).toBeCloseTo(0.002 * (30 / 25.5), 9)
  })

  it('takes self-heating off a Callendar-Van Dusen calibration that says it holds at zero current, and off no other', () => {
    const calibrated = (atZeroCurrent?: boolean) => {
      const register = structuredClone(REGISTER)
      const prt = register.thermometers.find((t) => t.id === 'prt')!
      prt.selfHeatingMk = 6
      prt.currentMa = 1
      prt.calibrations.push({
        id: 'own',
        date: '2025-06-01',
        certificate: 'Q-7',
        laboratory: 'Quennick Temperature Laboratory',
        lowC: 0,
        highC: 200,
        conversion: { kind: 'callendar-van-dusen', r0: 100, a: 3.9083e-3, b: -5.775e-7, c: -4.183e-12 },
        ...(atZeroCurrent !== undefined && { atZeroCurrent }),
      })
      return buildChain({ ...source, register }, x)
    }
    const silent = calibrated()
    const zero = calibrated(true)
    expect(silent.atZeroCurrent).toBe(false)
    expect(zero.atZeroCurrent).toBe(true)
    const ratio = 1.2
    const high = silent.convert(ratio, 'ratio', 1).celsius - zero.convert(ratio, 'ratio', 1).celsius
    expect(high).toBeCloseTo(0.006 * 1.2, 6)
    const atCurrent = structuredClone(REGISTER)
    atCurrent.thermometers.find((t) => t.id === 'sprt')!.calibrations[0]!.atZeroCurrent = false
    expect(buildChain({ ...source, register: atCurrent }, ref).atZeroCurrent).toBe(false)
  })

  it('takes the larger of the stated linearity of a bridge and the one its newest check found', () => {
    const checked = (date: string, linearityRatio: number) => {
      const register = structuredClone(REGISTER)
      const bridge = register.instruments.find((i) => i.id === 'bridge')!
      bridge.checks = [
        {
          id: 'c',
          kind: 'network',
          date,
          linearityRatio,
          agrees: true,
          results: [{ name: 'linearity', value: linearityRatio, u: 0 }],
        },
      ]
      const part = buildChain({ ...source, register }, ref)
        .parts(100)
        .find((p) => p.name === 'bridge')
      return part!.uMk
    }
    const stated = buildChain(source, ref)
      .parts(100)
      .find((p) => p.name === 'bridge')!.uMk
    expect(checked('2025-06-01', 1e-12)).toBe(stated)
    expect(checked('2025-06-01', 1e-6)).toBeGreaterThan(2 * stated)
    expect(checked('2025-08-01', 1e-6)).toBe(stated)
  })

  it('makes no temperature of a resistance for a thermocouple, nor of a voltage for platinum', () => {
    const register = structuredClone(REGISTER)
    register.thermometers.push(
      Thermometer.parse({
        id: 'tc',
        name: 'TC',
        kind: 'thermocouple',
        thermocoupleType: 'T',
        lowC: 0,
        highC: 200,
      }),
    )
    const { reference: _reference, ...bare } = ref
    const channel: Channel = {
      ...bare,
      id: 'tc',
      thermometer: 'tc',
      junction: { kind: 'fixed', celsius: 0, uK: 0 },
    }
    const couple = buildChain({ ...source, register, bench: { ...BENCH, channels: [channel] } }, channel)
    // Type T, 4.279 mV at 100 degC (ITS-90 reference table).
    expect(couple.convert(4.279, 'mV', null).celsius).toBeCloseTo(100, 1)
    expect(couple.convert(4.279e-3, 'V', null).celsius).toBeCloseTo(100, 1)
    for (const unit of ['ohm', 'ratio'] as const) {
      const { signal, celsius } = couple.convert(-7.35e-6, unit, null)
      expect([signal, celsius]).toEqual([Number.NaN, Number.NaN])
    }
    const platinum = buildChain(source, ref)
    expect(platinum.convert(25.5, 'ohm', 1).celsius).toBeCloseTo(0, 0)
    for (const unit of ['mV', 'V'] as const) {
      expect(platinum.convert(0.0255, unit, 1).signal).toBeNaN()
      expect(platinum.convert(25.5, unit, 1).celsius).toBeNaN()
    }
  })

  it('takes the error of a calibrated bridge off a ratio before it makes a resistance of it', () => {
    const register = structuredClone(REGISTER)
    register.instruments.find((i) => i.id === 'bridge')!.checks = [
      {
        id: 'c',
        kind: 'together',
        date: '2025-06-01',
        linearityRatio: 1e-6,
        agrees: false,
        results: [{ name: 'x', value: 1e-6, u: 1e-8 }],
        curve: [
          { ratio: 0.1, error: 1e-6, u: 1e-8 },
          { ratio: 0.5, error: 1e-6, u: 1e-8 },
        ],
        asCorrection: true,
      },
    ]
    const own = buildChain({ ...source, register }, ref)
    const plain = buildChain(source, ref)
    expect(own.convert(0.3 + 1e-6, 'ratio', 1).signal).toBeCloseTo(plain.convert(0.3, 'ratio', 1).signal, 12)
    expect(own.convert(0.6, 'ratio', 1).signal).toBe(plain.convert(0.6, 'ratio', 1).signal)
    const bridgeMk = (chain: typeof own) => chain.parts(100).find((p) => p.name === 'bridge')!.uMk
    expect(bridgeMk(own)).toBeLessThan(bridgeMk(plain))
  })

  it('follows another thermometer where the ratio is measured against one', () => {
    const chain = buildChain(source, y)
    expect(chain.follows).toEqual(['ref'])
    expect(chain.convert(4, 'ratio', 1, { ohmOf: () => 25.5 }).signal).toBeCloseTo(102, 12)
    expect(chain.convert(4, 'ratio', 1, { ohmOf: () => Number.NaN }).celsius).toBeNaN()
  })

  it('stands a nominal conversion in for a thermometer without calibration, and says so', () => {
    const chain = buildChain(source, x)
    expect(chain.nominal).toBe(true)
    // IEC 60751:2022 table for 100 ohm: 138.5055 ohm at 100 degC.
    expect(chain.celsiusOfSignal(138.5055, 1)).toBeCloseTo(100, 3)
    expect(chain.uCelsius(100)).toBeGreaterThan(0.4)
  })

  it('marks readings of an overdue calibration, and temperatures outside the certificate', () => {
    expect(buildChain({ ...source, date: '2026-02-01' }, ref).marks).toEqual(['calibration-overdue'])
    const chain = buildChain(source, ref)
    expect(chain.marks).toEqual([])
    expect(chain.convert(chain.signalAt(240) / chain.resistor!.ohm, 'ratio', 1).outside).toBe(true)
    expect(chain.convert(chain.signalAt(100) / chain.resistor!.ohm, 'ratio', 1).outside).toBe(false)
  })

  it('marks readings of an overdue resistor as well, and marks once what is overdue twice', () => {
    const marks = (due: string | undefined, date: string) => {
      const register = structuredClone(REGISTER)
      if (due !== undefined) register.resistors[0]!.calibrations[0]!.due = due
      return buildChain({ ...source, register, date }, ref).marks
    }
    expect(marks('2025-06-30', '2025-07-01')).toEqual(['calibration-overdue'])
    expect(marks('2025-07-01', '2025-07-01')).toEqual([])
    expect(marks(undefined, '2025-07-01')).toEqual([])
    // The thermometer's own is due on 2026-01-10.
    expect(marks('2025-06-30', '2026-02-01')).toEqual(['calibration-overdue'])
    expect(marks(undefined, '2026-01-10')).toEqual([])
    expect(marks(undefined, '2026-01-11')).toEqual(['calibration-overdue'])
  })

  it('passes temperatures and voltages through as what they are', () => {
    const chain = buildChain(source, ref)
    expect(chain.convert(25, 'degC', null).celsius).toBe(25)
    expect(chain.convert(300, 'K', null).celsius).toBeCloseTo(26.85, 12)
    expect(chain.convert(45, '%', null).celsius).toBeNaN()
    const { thermometer: _thermometer, ...bare } = ref
    expect(buildChain(source, bare).convert(1e-3, 'V', null).signal).toBe(1)
  })

  it('follows a reference junction that another channel measures', () => {
    const register = structuredClone(REGISTER)
    register.thermometers.push({
      ...register.thermometers[1]!,
      id: 'tc',
      kind: 'thermocouple',
      calibrations: [
        {
          id: 't',
          date: '2025-01-01',
          certificate: '',
          laboratory: '',
          lowC: -200,
          highC: 350,
          conversion: { kind: 'thermocouple', type: 'T' },
        },
      ],
    })
    const channel = {
      ...x,
      id: 'tc',
      thermometer: 'tc',
      reference: undefined,
      junction: { kind: 'channel', channel: 'ref' },
    } as typeof x
    const chain = buildChain({ ...source, register }, channel)
    // NIST ITS-90 table, type T: 4.279 mV at 100 degC, 0.992 mV at 25 degC.
    const celsius = chain.convert(4.279 - 0.992, 'mV', null, { celsiusOf: () => 25 }).celsius
    expect(celsius).toBeCloseTo(100, 1)
  })

  it('knows a ratio to another channel no better than the resistance of that channel', () => {
    const ofStandard = new Map(
      buildChain(source, ref)
        .parts(100)
        .map((p) => [p.name, p.uMk]),
    )
    const chain = buildChain(source, y)
    const parts = new Map(chain.parts(100).map((p) => [p.name, p.uMk]))
    const resistance = Math.hypot(
      ...['bridge', 'resistor-calibration', 'resistor-drift', 'resistor-temperature'].map(
        (name) => ofStandard.get(name as 'bridge') ?? 0,
      ),
    )
    const standard = buildChain(source, ref)
    const relative = (resistance * standard.slopeAt(100)) / standard.signalAt(100)
    expect(parts.get('standard')).toBeCloseTo((relative * chain.signalAt(100)) / chain.slopeAt(100), 9)
    // The same ratio uncertainty counts in ohms of the standard, not of a resistor.
    expect(parts.get('bridge')! * chain.slopeAt(100)).toBeCloseTo(
      (ofStandard.get('bridge')! * standard.slopeAt(100) * standard.signalAt(100)) / standard.resistor!.ohm,
      9,
    )
  })

  it('takes a compensated junction for one at 0 degC, and brings its uncertainty to the measured temperature', () => {
    const register = structuredClone(REGISTER)
    register.thermometers.push({
      ...register.thermometers[1]!,
      id: 'tc',
      kind: 'thermocouple',
      calibrations: [
        {
          id: 't',
          date: '2025-01-01',
          certificate: '',
          laboratory: '',
          lowC: -200,
          highC: 350,
          conversion: { kind: 'thermocouple', type: 'T' },
        },
      ],
    })
    const withJunction = (junction: Channel['junction']) => {
      const { reference: _r, ...bare } = x
      return buildChain(
        { ...source, register },
        { ...bare, id: 'tc', thermometer: 'tc', ...(junction ? { junction } : {}) },
      )
    }
    const compensated = withJunction({ kind: 'compensated', uK: 0.5 })
    // NIST ITS-90 table, type T: 4.279 mV at 100 degC.
    expect(compensated.convert(4.279, 'mV', null).celsius).toBeCloseTo(100, 1)
    // NIST ITS-90 tables, type T, differences of the emf: 0.039 mV/K at 0 degC, 0.047 mV/K at 100 degC.
    const part = compensated.parts(100).find(({ name }) => name === 'junction')!
    expect(part.uMk / 500).toBeCloseTo(0.039 / 0.047, 1)
    expect(
      withJunction({ kind: 'fixed', celsius: 0 })
        .parts(100)
        .some((p) => p.name === 'junction'),
    ).toBe(false)
  })

  it('refuses junctions that follow one another', () => {
    const circle = structuredClone(BENCH)
    const [first, second] = circle.channels
    first!.junction = { kind: 'channel', channel: second!.id }
    second!.junction = { kind: 'channel', channel: first!.id }
    expect(() => refuseCircle(circle, first!)).toThrow('a reference junction of its own')
  })

  it('refuses a circle of channels and unknown entries, in words', () => {
    const circle = structuredClone(BENCH)
    circle.channels[0]!.reference = { kind: 'channel', channel: 'y' }
    expect(() => buildChains({ ...source, bench: circle })).toThrow('Give one of them a reference resistor')
    expect(() => buildChain(source, { ...x, thermometer: 'nobody' })).toThrow('not in the register')
    expect(() => buildChain(source, { ...x, reference: { kind: 'resistor', resistor: 'none' } })).toThrow(
      'not in the register',
    )
  })

  it('states its uncertainty part by part', () => {
    const chain = buildChain(source, ref)
    const parts = Object.fromEntries(chain.parts(100).map((p) => [p.name, p.uMk]))
    expect(parts.calibration).toBeCloseTo(1, 9)
    // Ratio 5e-8 of 100 ohm at 0.0987 ohm/K is 0.05 mK.
    expect(parts.bridge).toBeCloseTo(0.051, 2)
    expect(parts['self-heating']).toBeCloseTo((2 * (chain.signalAt(100) / 25.5) * 0.2) / Math.sqrt(3), 9)
    expect(chain.uCelsius(100)).toBeCloseTo(Math.hypot(...Object.values(parts)) / 1e3, 12)
  })
})

describe('uCalibrationMk', () => {
  it('is linear between the points of the certificate and flat outside', () => {
    const uncertainty = {
      k: 2,
      points: [
        { celsius: 100, expandedMk: 4 },
        { celsius: 0, expandedMk: 2 },
      ],
    }
    expect([-10, 0, 50, 100, 200].map((t) => uCalibrationMk(uncertainty, t))).toEqual([1, 1, 1.5, 2, 2])
  })
})

describe('nominalConversion', () => {
  it('has one for platinum and thermistors, and none where no type is known', () => {
    const of = (kind: 'sprt' | 'prt' | 'thermistor' | 'thermocouple' | 'other') =>
      nominalConversion({ ...REGISTER.thermometers[1]!, kind })?.kind
    expect([of('sprt'), of('prt'), of('thermistor'), of('thermocouple'), of('other')]).toEqual([
      'its90',
      'iec60751',
      'beta',
      undefined,
      undefined,
    ])
  })
})
