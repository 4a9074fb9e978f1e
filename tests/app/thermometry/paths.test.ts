/** The two paths of arithmetic, double and decimal, over the whole range of every kind of sensor. */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Conversion } from '../../../app/kinds/conversion.ts'
import { prepare } from '../../../app/thermometry/convert.ts'
import { decimal } from '../../../app/thermometry/decimal.ts'
import { exactToSignal, exactToTemperature } from '../../../app/thermometry/exact.ts'

/** Joints of the reference functions, of thermocouple pieces, of the table below; W(Al) where d begins to act. */
const JOINTS = [0, 0.01, 660.323, 630.615, 760, 1064.18, 1664.5, 3.5, 40]

const MICROKELVIN = 1e-6
const NANOKELVIN = 1e-9

const its90 = (subrange: string, coefficients: Record<string, number>, rWtp: number, extra = {}) =>
  ({ kind: 'its90', rWtp, subrange, coefficients, ...extra }) as Conversion

/** A thermometer of every kind; invented coefficients of the size real ones have. */
type SensorCase = readonly [name: string, conversion: Conversion, low?: number, high?: number]
const SENSORS: SensorCase[] = [
  [
    'its90 3.3.1',
    its90(
      '3.3.1',
      { a: -2.5e-4, b: -1.1e-4, c1: 1.8e-6, c2: -2.4e-7, c3: -6e-7, c4: -2.2e-7, c5: -2e-8 },
      25.4,
    ),
  ],
  ['its90 3.3.1.1', its90('3.3.1.1', { a: -1.9e-4, b: -2.7e-5, c1: 7e-6, c2: 3.3e-6, c3: 4.4e-7 }, 25.5)],
  ['its90 3.3.1.2', its90('3.3.1.2', { a: -1.7e-4, b: -4.3e-5, c1: 2.6e-6 }, 25.3)],
  ['its90 3.3.1.3', its90('3.3.1.3', { a: -1.8e-4, b: 1.5e-5 }, 25.5)],
  ['its90 3.3.2', its90('3.3.2', { a: -1.7e-4, b: -1.3e-5, c: 2.2e-6, d: -1.05e-5 }, 0.25)],
  [
    'its90 3.3.2 with W(Al)',
    its90('3.3.2', { a: -2.1e-4, b: -1.4e-5, c: 1.1e-6, d: -4.8e-5 }, 2.55, { wAluminium: 3.37543469 }),
  ],
  ['its90 3.3.2.1', its90('3.3.2.1', { a: -1.4e-4, b: -6.8e-6, c: 9.4e-7 }, 25.5)],
  ['its90 3.3.2.2', its90('3.3.2.2', { a: -2.1e-4, b: -1.2e-5 }, 100)],
  ['its90 3.3.2.3', its90('3.3.2.3', { a: -9.6e-5, b: -1.1e-5 }, 25.5)],
  ['its90 3.3.2.4', its90('3.3.2.4', { a: -1.3e-4 }, 100)],
  ['its90 3.3.2.5', its90('3.3.2.5', { a: -1.1e-4 }, 25.5)],
  ['its90 3.3.3', its90('3.3.3', { a: -1.2e-4, b: -1.9e-5 }, 25.5)],
  [
    'its90 joined',
    its90('3.3.2.1', { a: -1.4e-4, b: -6.8e-6, c: 9.4e-7 }, 25.5, {
      joined: { subrange: '3.3.1.3', coefficients: { a: -1.6e-4, b: 1e-5 } },
    }),
  ],
  ['iec60751', { kind: 'iec60751' }],
  [
    'callendar-van-dusen',
    { kind: 'callendar-van-dusen', r0: '100.0123', a: 3.9085e-3, b: -5.77e-7, c: -4.2e-12 },
  ],
  [
    'steinhart-hart, three terms',
    { kind: 'steinhart-hart', coefficients: [1.4e-3, 2.37e-4, 9.9e-8] },
    -60,
    200,
  ],
  [
    'steinhart-hart, four terms',
    { kind: 'steinhart-hart', coefficients: [8.4e-4, 2e-4, 5e-7, 9.8e-8] },
    -60,
    200,
  ],
  ['beta', { kind: 'beta', r0: 10000, beta: 3950 }, -60, 200],
  ...(['E', 'J', 'K', 'N', 'R', 'S', 'T'] as const).map(
    (type) =>
      [
        `thermocouple ${type}`,
        { kind: 'thermocouple', type, referenceJunction: 21.37 } as Conversion,
      ] as const,
  ),
  // Below 42 degC type B has two answers; that part has a test of its own.
  ['thermocouple B', { kind: 'thermocouple', type: 'B', referenceJunction: 21.37 }, 43, 1820],
  ['thermocouple K with deviation', { kind: 'thermocouple', type: 'K', deviation: [0, 1e-4, -2e-7] }],
  ['polynomial', { kind: 'polynomial', coefficients: [-0.3, 0.97, 2.8e-3, -4.4e-5], range: [0, 40] }, 0, 40],
  [
    'polynomial of temperature',
    {
      kind: 'polynomial',
      coefficients: [1, 0.4, 1e-4],
      from: 'temperature',
      to: 'voltage',
      range: [-50, 150],
    },
  ],
  ['table', { kind: 'table', x: [0, 1, 2.5, 4], y: [-20, 3.5, 40, 90] }, -20, 90],
]

describe.each(SENSORS.map(([name, conversion, low, high]) => ({ name, conversion, low, high })))(
  '$name',
  ({ conversion, low, high }) => {
    const prepared = prepare(conversion)
    const [from, to] = [low ?? prepared.lowC, high ?? prepared.highC]
    /** Evenly over the range, and the numbers that are apt to make trouble: ends, zero, the smallest ones. */
    const temperature = fc.oneof(
      { weight: 4, arbitrary: fc.integer({ min: 0, max: 1e9 }).map((n) => from + ((to - from) * n) / 1e9) },
      { weight: 1, arbitrary: fc.double({ min: from, max: to, noNaN: true, noDefaultInfinity: true }) },
    )

    it('closes to a microkelvin in doubles', () => {
      fc.assert(
        fc.property(temperature, (t90) => {
          const back = prepared.toTemperature(prepared.toSignal(t90).value)
          expect(Math.abs(back.value - t90)).toBeLessThanOrEqual(MICROKELVIN)
          expect(back.marks).toEqual([])
        }),
        { numRuns: 2000 },
      )
    })

    it('closes to a nanokelvin on the exact path, and the doubles agree with it to a microkelvin', () => {
      fc.assert(
        fc.property(temperature, (t90) => {
          const signal = exactToSignal(conversion, t90, {}, prepared)
          const back = exactToTemperature(conversion, signal.text!, {}, prepared)
          expect(decimal(back.text!).minus(t90).abs().toNumber()).toBeLessThanOrEqual(NANOKELVIN)
          const inDoubles = prepared.toSignal(t90)
          expect(
            Math.abs((inDoubles.value - Number(signal.text)) / inDoubles.dValueDInput),
          ).toBeLessThanOrEqual(MICROKELVIN)
          const temperatureInDoubles = prepared.toTemperature(Number(signal.text)).value
          const exact = exactToTemperature(conversion, Number(signal.text), {}, prepared)
          expect(Math.abs(temperatureInDoubles - Number(exact.text))).toBeLessThanOrEqual(MICROKELVIN)
        }),
        { numRuns: 250 },
      )
    })

    it('has the derivative of its own values', () => {
      fc.assert(
        fc.property(temperature, (t90) => {
          const h = 1e-3
          const before = prepared.toSignal(Math.max(t90 - h, from))
          const after = prepared.toSignal(Math.min(t90 + h, to))
          const middle = (Math.max(t90 - h, from) + Math.min(t90 + h, to)) / 2
          // At a joint of two pieces, of two reference functions or of two lines of a table there is no one slope.
          fc.pre(JOINTS.every((joint) => Math.abs(joint - t90) > 2 * h))
          const slope = (after.value - before.value) / (Math.min(t90 + h, to) - Math.max(t90 - h, from))
          const { dValueDInput, value } = prepared.toSignal(middle)
          expect(Math.abs(slope - dValueDInput)).toBeLessThanOrEqual(
            1e-5 * Math.abs(slope) + 1e-8 * Math.abs(value),
          )
          const back = prepared.toTemperature(value)
          expect(Math.abs(back.dValueDInput * dValueDInput - 1)).toBeLessThan(1e-5)
        }),
        { numRuns: 300 },
      )
    })
  },
)
