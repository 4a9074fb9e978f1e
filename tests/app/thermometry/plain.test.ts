import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { prepare } from '../../../app/thermometry/convert.ts'
import { plainRelation, plainSensor } from '../../../app/thermometry/plain.ts'

describe('plainRelation, table', () => {
  const table = plainRelation({ kind: 'table', x: [0, 1, 3], y: [10, 20, 0] })

  it('goes through its points and along straight lines between them', () => {
    expect([0, 0.5, 1, 2, 3].map((x) => table.y(x))).toEqual([10, 15, 20, 10, 0])
  })

  it('takes falling x and sorts them', () => {
    const falling = plainRelation({ kind: 'table', x: [3, 1, 0], y: [0, 20, 10] })
    expect(falling.y(0.5)).toBe(15)
    expect([falling.low, falling.high]).toEqual([0, 3])
  })

  it('gives every x of a y', () => {
    expect(table.xs(15)).toEqual([0.5, 1.5])
    expect(table.xs(20)).toEqual([1])
    expect(table.xs(5)).toEqual([2.5])
  })

  it('goes on along the outermost lines beyond its points', () => {
    expect(table.y(4)).toBe(-10)
    expect(table.xs(-10)).toContain(4)
    expect(table.y(-1)).toBe(0)
  })

  it('gives no x where a flat table never reaches y', () => {
    expect(plainRelation({ kind: 'table', x: [0, 1], y: [5, 5] }).xs(6)).toEqual([])
    expect(plainRelation({ kind: 'table', x: [0, 1], y: [5, 5] }).xs(5)).toEqual([0])
  })
})

describe('plainRelation, polynomial', () => {
  it('finds x inside the range first', () => {
    const square = plainRelation({ kind: 'polynomial', coefficients: [0, 0, 1], range: [-10, -1] })
    expect(square.xs(4)[0]).toBeCloseTo(-2, 12)
  })

  it('finds the x nearest to zero without a range', () => {
    expect(plainRelation({ kind: 'polynomial', coefficients: [0, 1, -0.01] }).xs(20)[0]).toBeCloseTo(
      27.639,
      3,
    )
  })

  it('gives no x where there is none', () => {
    expect(plainRelation({ kind: 'polynomial', coefficients: [1, 0, 1] }).xs(0)).toEqual([])
  })

  it('inverts any rising cubic', () => {
    fc.assert(
      fc.property(fc.double({ min: -100, max: 100, noNaN: true }), (x) => {
        const cubic = plainRelation({ kind: 'polynomial', coefficients: [3, 2, 0, 0.01] })
        expect(cubic.xs(cubic.y(x))[0]).toBeCloseTo(x, 8)
      }),
    )
  })
})

describe('prepare, plain', () => {
  it('refuses a relation that gives no temperature', () => {
    expect(() =>
      prepare({ kind: 'polynomial', coefficients: [0, 1], from: 'ratio', to: 'resistance' }),
    ).toThrow(/gives no temperature/)
    expect(() =>
      prepare({ kind: 'table', x: [0, 1], y: [0, 1], from: 'temperature', to: 'temperature' }),
    ).toThrow(/gives no temperature/)
  })

  it('refuses another signal than the one it declares', () => {
    const declared = prepare({ kind: 'polynomial', coefficients: [0, 1], from: 'voltage' })
    expect(() => declared.toTemperature(1, { quantity: 'resistance' })).toThrow(/no resistance/)
    expect(declared.toTemperature(1, { quantity: 'voltage' }).value).toBe(1)
  })
})

describe('plainSensor', () => {
  it.each([
    [
      'from temperature to a signal',
      { from: 'temperature', to: 'resistance' },
      [100, 0.39, -6e-5],
      25,
      109.7125,
    ],
    ['from a signal to temperature', { from: 'resistance' }, [-250, 2.4, 1e-3], 25, 109.58],
  ] as const)('gives d signal/d coefficient at a temperature, %s', (_, sides, coefficients, t, near) => {
    const of = (own: readonly number[]) =>
      plainSensor({ kind: 'polynomial', coefficients: [...own], range: [-300, 300], ...sides })
    const signal = of(coefficients).signalAt(t)
    expect(signal).toBeCloseTo(near, 2)
    const gradient = of(coefficients).gradient(t, signal)
    expect(Object.keys(gradient)).toEqual(['0', '1', '2'])
    coefficients.forEach((c, i) => {
      const step = 1e-5 * Math.abs(c)
      const moved = (by: number) => of(coefficients.map((own, k) => (k === i ? own + by : own))).signalAt(t)
      expect(gradient[String(i)]! / ((moved(step) - moved(-step)) / (2 * step))).toBeCloseTo(1, 6)
    })
  })
})
