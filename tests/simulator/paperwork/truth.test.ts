import { describe, expect, it } from 'vitest'
import { drawResistor, thermometerEntry } from '../../../simulator/paperwork/register.ts'
import { drawCertificate, drawThermometer, INDIUM_C, TIN_C } from '../../../simulator/paperwork/truth.ts'
import { its90Resistance, referenceSlope } from '../../../simulator/physics/platinum.ts'
import type { Curve } from '../../../simulator/physics/sensors.ts'
import { demo } from '../../../simulator/scenarios/demo.ts'
import { RESISTOR_100 } from '../../../simulator/scenarios/stock.ts'
import { START_UTC_US } from '../bench-client.ts'

const SEEDS = Array.from({ length: 600 }, (_, seed) => seed)
const reference = demo.thermometers[0]!
const its90 = (seed: number) =>
  drawThermometer(reference, 1.5, seed).curve as Extract<Curve, { kind: 'its90' }>

/** Scores of a correctly stated uncertainty: mean 0, standard deviation 1, about 95 % within 1.96. */
function expectStandardNormal(scores: readonly number[]): void {
  const mean = scores.reduce((a, b) => a + b, 0) / scores.length
  const sd = Math.sqrt(scores.reduce((a, b) => a + (b - mean) ** 2, 0) / (scores.length - 1))
  const within = scores.filter((z) => Math.abs(z) < 1.96).length / scores.length
  // Four standard errors of each statistic.
  expect(Math.abs(mean)).toBeLessThan(4 / Math.sqrt(scores.length))
  expect(Math.abs(sd - 1)).toBeLessThan(4 / Math.sqrt(2 * scores.length))
  expect(Math.abs(within - 0.95)).toBeLessThan(4 * Math.sqrt((0.95 * 0.05) / scores.length))
}

describe('drawCertificate', () => {
  for (const celsius of [20, 60, 100, INDIUM_C, 200, TIN_C]) {
    it(`states at ${celsius} degC what its coefficients are truly uncertain by`, () => {
      const scores = SEEDS.map((seed) => {
        const truth = its90(seed)
        const { a, b, uK } = drawCertificate(truth, seed, reference.id)
        const wrong = its90Resistance({ rWtp: truth.rWtp, a, b }, celsius) - its90Resistance(truth, celsius)
        return wrong / truth.rWtp / referenceSlope(celsius) / uK(celsius)
      })
      expectStandardNormal(scores)
    })
  }

  it('has a covariance that predicts the spread of a and b', () => {
    for (const name of ['a', 'b'] as const) {
      const scores = SEEDS.map((seed) => {
        const truth = its90(seed)
        const drawn = drawCertificate(truth, seed, reference.id)
        const i = name === 'a' ? 0 : 1
        return (drawn[name] - truth[name]) / Math.sqrt(drawn.covariance[i]![i]!)
      })
      expectStandardNormal(scores)
    }
  })
})

describe('thermometerEntry', () => {
  it('gives R(WTP) values that scatter about the true one by their stated uncertainty', () => {
    for (const which of [0, 1]) {
      const scores = SEEDS.map((seed) => {
        const truth = drawThermometer(reference, 1.5, seed)
        const { ohm, uOhm } = thermometerEntry(reference, truth, seed, START_UTC_US).wtpHistory[which]!
        return (Number(ohm) - its90(seed).rWtp) / uOhm
      })
      expectStandardNormal(scores)
    }
  })

  it('gives a thermometer under test nominal data only', () => {
    const design = demo.thermometers[1]!
    const entry = thermometerEntry(design, drawThermometer(design, 1.5, 3), 3, START_UTC_US)
    expect(entry.calibrations).toEqual([])
    expect(entry.wtpHistory).toEqual([])
    expect(entry.nominalOhm).toBe(100)
  })
})

describe('drawThermometer', () => {
  it('puts a thermometer under test off the reference by the stated uniformity', () => {
    const design = demo.thermometers[1]!
    expectStandardNormal(SEEDS.map((seed) => (drawThermometer(design, 1.5, seed).offsetK * 1000) / 1.5))
    expect(drawThermometer(reference, 1.5, 7).offsetK).toBe(0)
  })

  it('has a stated self-heating that is right within a tenth', () => {
    const design = demo.thermometers[1]!
    const stated = design.selfHeatingMk / 1000 / (1e-6 * 100)
    expectStandardNormal(
      SEEDS.map((seed) => (drawThermometer(design, 1.5, seed).selfHeatingKPerW / stated - 1) / 0.1),
    )
  })
})

describe('drawResistor', () => {
  it('has a true value within certificate and drift as they are stated', () => {
    const scores = SEEDS.map((seed) => {
      const { physics, entry } = drawResistor(RESISTOR_100, seed, START_UTC_US)
      const stated = entry.calibrations[0]!
      const years = (START_UTC_US / 1000 - Date.parse(stated.date)) / (365.25 * 86_400_000)
      const predicted = Number(stated.ohm) * (1 + stated.driftPerYear * years)
      const u = Math.hypot(stated.expandedRelative / stated.k, stated.uDriftPerYear * years)
      return (physics.ohm / predicted - 1) / u
    })
    expectStandardNormal(scores)
  })

  it('is kept at its temperature within the stated uncertainty', () => {
    const scores = SEEDS.map((seed) => {
      const { physics, entry } = drawResistor(RESISTOR_100, seed, START_UTC_US)
      return (physics.keptAtC - entry.keptAtC) / entry.uKeptAtK
    })
    expectStandardNormal(scores)
  })
})
