import { describe, expect, it } from 'vitest'
import { type CellConditions, reducePlateau } from '../../../app/checks/fixed-point.ts'
import { calibrateByFixedPoints } from '../../../app/checks/fixed-point-calibration.ts'
import { seededRandom } from '../../../app/statistics/random.ts'
import { prepare } from '../../../app/thermometry/convert.ts'
import { fixedPointTemperature } from '../../../app/thermometry/fixed-points.ts'

const TRUTH = {
  kind: 'its90',
  rWtp: 25.4812345,
  subrange: '3.3.2.2',
  coefficients: { a: -1.62e-4, b: -1.1e-5 },
} as const
const SELF_HEATING = { mk: 1.2, uMk: 0.05 }

const conditions = (fixedPoint: CellConditions['fixedPoint']): CellConditions => ({
  fixedPoint,
  depthM: fixedPoint === 'H2O' ? 0.25 : 0.16,
  uDepthM: 0.005,
  pressurePa: 101_900,
  uPressurePa: 50,
  uCellMk: { H2O: 0.05, Sn: 0.3, Zn: 0.5 }[fixedPoint as string] ?? 0.2,
  uBridgeMk: 0.08,
})

/** A plateau as it would be measured: the true resistance at the element's own temperature, warmed by the current. */
function measured(fixedPoint: CellConditions['fixedPoint'], errorMk = 0) {
  const own = prepare(TRUTH)
  const { depthM, pressurePa } = conditions(fixedPoint)
  const t = fixedPointTemperature(fixedPoint, depthM, pressurePa)
  const { value, dValueDInput } = own.toSignal(t + (SELF_HEATING.mk + errorMk) * 1e-3)
  const plateau = { ohm: value, uTypeAMk: 0.02, degreesOfFreedom: 60, rangeMk: 0.1 }
  return reducePlateau(plateau, conditions(fixedPoint), SELF_HEATING, dValueDInput)
}

describe('reducePlateau', () => {
  it('moves the temperature by head and pressure and takes the self-heating off', () => {
    const value = measured('Sn')
    // ITS-90 (1990), table 2: 2.2 mK/m and 33 nK/Pa for tin.
    expect(value.headMk).toBeCloseTo(0.16 * 2.2, 6)
    expect(value.pressureMk).toBeCloseTo(575 * 3.3e-8 * 1e3, 6)
    expect(value.t90C).toBeCloseTo(231.928 + 0.000352 + 0.000019, 6)
    expect(prepare(TRUTH).toTemperature(value.ohm).value).toBeCloseTo(value.t90C, 7)
  })

  it('lets pressure alone at a triple point', () => {
    expect(measured('H2O').pressureMk).toBe(0)
    expect(measured('H2O').headMk).toBeCloseTo(-0.73 * 0.25, 6)
  })

  it('combines its components', () => {
    const value = measured('Zn')
    expect(value.uMk).toBeCloseTo(Math.hypot(...value.components.map((c) => c.uMk)), 12)
    expect(value.components.map((c) => c.name)).toContain('Hydrostatic head')
    expect(value.degreesOfFreedom).toBeGreaterThan(1000)
  })
})

describe('calibrateByFixedPoints', () => {
  it('gives the true coefficients back where nothing is in error', () => {
    const { rWtp, coefficients, prepared } = calibrateByFixedPoints([
      measured('H2O'),
      measured('Sn'),
      measured('Zn'),
    ])
    // The scale's own reference functions miss 1 at the water point by a microkelvin or so, which shows in a at 1e-8.
    expect(rWtp).toBeCloseTo(TRUTH.rWtp, 6)
    expect(coefficients.find((c) => c.name === 'a')!.value).toBeCloseTo(-1.62e-4, 7)
    expect(coefficients.find((c) => c.name === 'b')!.value).toBeCloseTo(-1.1e-5, 7)
    expect(prepared.toTemperature(prepare(TRUTH).toSignal(300).value).value).toBeCloseTo(300, 5)
  })

  it('carries the error of the water point into every temperature', () => {
    const { uncertaintyK } = calibrateByFixedPoints([measured('H2O'), measured('Sn'), measured('Zn')])
    // At the water point itself only R(0.01 degC) counts; at tin the cell of tin does.
    expect(uncertaintyK(0.01) * 1e3).toBeCloseTo(measured('H2O').uMk, 1)
    expect(uncertaintyK(231.928) * 1e3).toBeCloseTo(measured('Sn').uMk, 1)
    expect(uncertaintyK(419.527)).toBeGreaterThan(uncertaintyK(231.928))
  })

  it('holds the truth within U as often as it says', () => {
    const random = seededRandom(11)
    let inside = 0
    let tries = 0
    for (let trial = 0; trial < 150; trial++) {
      const values = (['H2O', 'Sn', 'Zn'] as const).map((point) =>
        measured(point, measured(point).uMk * random.normal()),
      )
      const { coefficients } = calibrateByFixedPoints(values)
      for (const [name, truth] of [
        ['a', -1.62e-4],
        ['b', -1.1e-5],
        ['rWtp', TRUTH.rWtp],
      ] as const) {
        const found = coefficients.find((c) => c.name === name)!
        if (Math.abs(found.value - truth) <= found.expanded) inside++
        tries++
      }
    }
    expect((100 * inside) / tries).toBeGreaterThan(92)
    expect((100 * inside) / tries).toBeLessThan(98.5)
  })

  it('lets the resistor, and what a cell has in every plateau of it, cancel or add up as it does', () => {
    const set = (uResistorMk: number, waters = 1) => {
      const at = (point: CellConditions['fixedPoint']) => {
        const own = measured(point)
        const ohmPerKelvin = prepare(TRUTH).toSignal(own.t90C).dValueDInput
        // One relative error of the resistor is R / (dR/dt) times it, as a temperature.
        const asMk = (uResistorMk * (own.ohm / ohmPerKelvin)) / 250
        const plateau = { ohm: own.ohm, uTypeAMk: 0.02, degreesOfFreedom: 60, rangeMk: 0.1 }
        return reducePlateau(
          plateau,
          { ...conditions(point), uResistorMk: asMk },
          { mk: 0, uMk: 0 },
          ohmPerKelvin,
        )
      }
      return calibrateByFixedPoints([...Array.from({ length: waters }, () => at('H2O')), at('Sn'), at('Zn')])
    }
    const [none, much] = [set(0), set(0.2)]
    const u = (found: typeof none, name: string) => found.coefficients.find((c) => c.name === name)!.u
    // An error of the resistor is in R(0.01 degC) and in no W: 0.2 mK of 250 K per unit of R.
    expect(u(much, 'rWtp')).toBeCloseTo(Math.hypot(u(none, 'rWtp'), (0.2e-3 / 250) * TRUTH.rWtp), 8)
    for (const name of ['a', 'b']) expect(u(much, name) / u(none, name)).toBeCloseTo(1, 3)
    expect(much.points[1]!.uW / none.points[1]!.uW).toBeCloseTo(1, 3)
    expect(much.uncertaintyK(300) / none.uncertaintyK(300)).toBeCloseTo(1, 3)
    // Four plateaus of one water cell: only what is each one's own becomes half.
    const own = measured('H2O').components.filter((c) =>
      ['Repeatability', 'Slope of the plateau'].includes(c.name),
    )
    const ownMk = Math.hypot(...own.map((c) => c.uMk))
    const perMk = (TRUTH.rWtp * 3.9885e-3) / 1e3
    expect((u(set(0), 'rWtp') / perMk) ** 2 - (u(set(0, 4), 'rWtp') / perMk) ** 2).toBeCloseTo(
      0.75 * ownMk ** 2,
      5,
    )
  })

  it('has a covariance that gives the uncertainties of the coefficients, and one of the pair', () => {
    const { covariance, coefficients, prepared, rWtp, uncertaintyK } = calibrateByFixedPoints([
      measured('H2O'),
      measured('Sn'),
      measured('Zn'),
    ])
    expect(covariance.names).toEqual(['a', 'b'])
    const found = covariance.names.map((name) => coefficients.find((c) => c.name === name)!.u)
    for (const [i, u] of found.entries()) expect(Math.sqrt(covariance.matrix[i]![i]!)).toBeCloseTo(u, 12)
    // At tin W is what was measured there: its u from the covariance is nearly that of the tin cell and the water cell's.
    const w = prepared.toSignal(231.928).value / rWtp
    const g = [w - 1, (w - 1) ** 2]
    const uW = Math.sqrt(
      g.reduce((sum, x, i) => sum + g.reduce((s, y, j) => s + x * y * covariance.matrix[i]![j]!, 0), 0),
    )
    const slope = prepared.toSignal(231.928).dValueDInput / rWtp
    const water = (measured('H2O').uMk * 3.9885e-3 * w) / 1e3
    expect(uW).toBeCloseTo(Math.hypot((measured('Sn').uMk * slope) / 1e3, water), 8)
    expect(uncertaintyK(231.928) * 1e3).toBeCloseTo(measured('Sn').uMk, 2)
  })

  it('follows R(0.01 °C) from one water plateau to the next where their times are known', () => {
    const hour = 3.6e6
    const wet = (utcMs: number, mk: number) => ({
      ...measured('H2O'),
      ohm: measured('H2O').ohm * (1 + 3.9885e-3 * mk * 1e-3),
      utcMs,
    })
    const zinc = { ...measured('Zn'), utcMs: 5 * hour }
    const tin = { ...measured('Sn'), utcMs: 15 * hour }
    const found = calibrateByFixedPoints([wet(0, 0), zinc, wet(10 * hour, 2), tin, wet(20 * hour, 2)])
    const truth = (t: number) => prepare(TRUTH).toSignal(t).value / TRUTH.rWtp
    // Halfway between two water plateaus that differ by 2 mK, R(0.01 degC) is 1 mK higher.
    expect(found.points[0]!.w / truth(zinc.t90C)).toBeCloseTo(1 - 3.9885e-6, 8)
    expect(found.points[1]!.w / truth(tin.t90C)).toBeCloseTo(1 - 2 * 3.9885e-6, 8)
    expect(found.wtpSteps.map((s) => [Math.round(s.changeMk * 100) / 100, s.agrees])).toEqual([
      [2, false],
      [0, true],
    ])
  })

  it('says whether more cells than coefficients agree', () => {
    const good = ['H2O', 'Ga', 'In', 'Sn', 'Zn'] as const
    const set = (errorMk: number) =>
      calibrateByFixedPoints(good.map((point) => measured(point, point === 'In' ? errorMk : 0)))
    expect(set(0).consistency).toMatchObject({ degreesOfFreedom: 2, agrees: true })
    expect(set(3).consistency!.agrees).toBe(false)
    expect(calibrateByFixedPoints([measured('H2O'), measured('Sn'), measured('Zn')]).consistency).toBeNull()
  })

  it('holds a subrange to its own limits', () => {
    const set = [measured('H2O'), measured('Sn'), measured('Zn')]
    expect(() => calibrateByFixedPoints(set, 0.9545, '3.3.2.3')).toThrow(
      /Section 3\.3\.2\.3 reaches from 0 to 231\.928 °C; Zn at 419\.527 °C lies outside\. Choose .*3\.3\.2\.2/,
    )
    expect(() => calibrateByFixedPoints(set, 0.9545, '3.3.2.2')).not.toThrow()
    expect(() =>
      calibrateByFixedPoints([measured('H2O'), measured('In'), measured('Sn')], 0.9545, '3.3.2.3'),
    ).not.toThrow()
  })

  it('refuses a set without a water triple point', () => {
    expect(() => calibrateByFixedPoints([measured('Sn'), measured('Zn')])).toThrow(/water triple point/)
  })
})
