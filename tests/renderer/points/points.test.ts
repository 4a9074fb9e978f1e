import { describe, expect, it } from 'vitest'
import {
  cellMeasured,
  cellOf,
  coefficientDigits,
  coefficientMeasured,
  columnDecimals,
  doubts,
  withoutValues,
} from '../../../renderer/points/points.model.ts'
import { FakeStation } from '../../browser/fake/station.ts'
import { fitsOf } from '../../browser/fake/studies.ts'

const station = new FakeStation({ channels: 3, rateHz: 1, scene: 'ready', speed: 1 })
station.begin(station.plans[0]!, 'x', '', 10 * 3600)
const points = station.points()

describe('cellOf', () => {
  it('gives the difference from the reference in millikelvin', () => {
    const used = points[0]!.channels[1]!
    expect(cellOf(used, 'difference').value).toBeCloseTo((used.t90C! - used.referenceC!) * 1000, 9)
  })

  it('takes the uncertainty of a signal from its own scatter', () => {
    const used = points[0]!.channels[1]!
    expect(cellOf(used, 'signal').u).toBeCloseTo(
      ((used.signal! / used.rawMean) * used.rawSd) / Math.sqrt(used.nEffective),
      15,
    )
    expect(cellOf({ ...used, signal: null }, 'signal')).toMatchObject({ value: null, u: null })
  })
})

describe('a channel in its own unit', () => {
  const used = points[0]!.channels[1]!
  it('is its temperature with its uncertainty, in that unit', () => {
    expect(cellOf(used, 'own', 'degC')).toEqual({ ...cellOf(used, 't90C') })
    expect(cellOf(used, 'own', 'K').value).toBeCloseTo(used.t90C! + 273.15, 9)
    const fahrenheit = cellOf(used, 'own', 'degF')
    expect(fahrenheit.value).toBeCloseTo(used.t90C! * 1.8 + 32, 9)
    expect(fahrenheit.u).toBeCloseTo((used.uTypeAMk! / 1000) * 1.8, 12)
    expect(cellMeasured(used, 'own', undefined, 'degF')).toMatchObject({ unit: 'degF' })
  })
  it('is its signal where it has no calibration, or where its bench says ohm', () => {
    expect(cellOf({ ...used, t90C: null }, 'own', 'degC')).toEqual(cellOf(used, 'signal'))
    expect(cellOf(used, 'own', 'ohm')).toEqual(cellOf(used, 'signal'))
    expect(cellOf(used, 'own', 'ratio')).toMatchObject({ value: used.rawMean, unit: 'ratio' })
  })
})

describe('columnDecimals', () => {
  it('is that of the longest number', () => {
    expect(columnDecimals(points, 'ch-2', 'signal')).toBeGreaterThan(3)
    expect(columnDecimals(points, 'nobody', 'signal')).toBe(0)
  })
})

describe('cellMeasured', () => {
  const used = points[0]!.channels[1]!
  it('puts the whole budget of the fit behind a difference, and the scatter alone behind anything else', () => {
    const fitted = fitsOf(station)[0]!.points[0]!
    expect(cellMeasured(used, 'difference', fitted)).toMatchObject({
      expanded: fitted.expandedMk,
      k: fitted.k,
    })
    expect(cellMeasured(used, 't90C', fitted)).toMatchObject({
      expanded: (used.uTypeAMk! / 1000) * 2,
      about: 'scatter of the readings alone',
    })
    expect(cellMeasured(used, 'sdMk', fitted)).toMatchObject({ expanded: null })
    expect(cellMeasured({ ...used, t90C: null }, 't90C', fitted)).toBeNull()
  })
})

describe('coefficientMeasured', () => {
  it('has the k of its own degrees of freedom from the first paint', () => {
    const c = { name: 'a', value: 3.9e-3, u: 1e-8, k: 2.1, unit: '1/K' }
    expect(coefficientMeasured(c)).toMatchObject({ k: 2.1, expanded: 2.1 * 1e-8 })
  })
})

describe('coefficientDigits', () => {
  it('keeps the digits that the uncertainty leaves, and one more', () => {
    expect(coefficientDigits({ value: 99.97770955, u: 0.00085 })).toBe(7)
    expect(coefficientDigits({ value: -9.5e-5, u: 4.8e-5 })).toBe(3)
    expect(coefficientDigits({ value: 1, u: 0 })).toBe(6)
  })
})

describe('withoutValues', () => {
  const channels = [
    { id: 'ch-1', name: 'Reference', role: 'reference' },
    { id: 'ch-2', name: 'Under test', role: 'under-test' },
  ]
  const uncalibrated = points.map((point) => ({
    ...point,
    channels: point.channels.map((used) => (used.channel === 'ch-2' ? { ...used, t90C: null } : used)),
  }))
  it('names a thermometer that has no temperature in any point, and none that has one', () => {
    expect(withoutValues(uncalibrated, channels, 't90C')).toEqual(['Under test'])
    expect(withoutValues(uncalibrated, channels, 'difference')).toEqual(['Under test'])
    expect(withoutValues(uncalibrated, channels, 'signal')).toEqual([])
    expect(withoutValues(points, channels, 't90C')).toEqual([])
    expect(withoutValues([], channels, 't90C')).toEqual([])
  })
})

describe('doubts', () => {
  const [fit] = fitsOf(station)
  it('says nothing of a night that went as planned', () => {
    expect(doubts(points, [fit!])).toEqual([])
  })

  it('says what was left out, taken early, refused or does not conform', () => {
    const [one, two, ...rest] = points
    const odd = [{ ...one!, marks: ['rejected-by-person'] }, { ...two!, settled: false }, ...rest]
    const failing = { ...fit!, points: [{ ...fit!.points[0]!, conformity: 'class A: fail' }] }
    const refused = { ...fit!, name: 'T 9', refusal: 'Too few points.' }
    expect(doubts(odd, [failing, refused])).toEqual([
      'One point is left out.',
      'One point was taken before it was settled.',
      'T 9 has no result: Too few points.',
      `${fit!.name} does not conform at every point.`,
    ])
  })
})
