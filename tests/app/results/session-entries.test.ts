import { describe, expect, it } from 'vitest'
import { checkThermometer } from '../../../app/checks/register-check.ts'
import { fitThermometer } from '../../../app/fit/fit.ts'
import type { CallendarVanDusenConversion } from '../../../app/kinds/conversion.ts'
import { buildChain } from '../../../app/live/chain.ts'
import { analyse } from '../../../app/results/analysis.ts'
import { calibrationModes } from '../../../app/results/calibration-modes.ts'
import {
  calibrationOfFit,
  measuredWtp,
  withCalibration,
  withWtp,
} from '../../../app/results/session-entries.ts'
import { correlationBetween, pointEffectsMk } from '../../../app/results/uncertainty-sources.ts'
import { seededRandom } from '../../../app/statistics/random.ts'
import { prepare } from '../../../app/thermometry/convert.ts'
import { CHOICES, simulate } from '../../report/fixture.ts'

const { input, truth } = simulate({ ...CHOICES, errors: 0 })
const analysis = analyse({ ...input, options: { monteCarloTrials: 0 } })
const { register, bench } = input.setup

describe('measuredWtp', () => {
  it('is R(0.01 °C) of every platinum thermometer at zero current, with what is uncertain of the ohm itself', () => {
    const measured = measuredWtp(analysis)
    expect(measured.map((m) => m.thermometer).sort()).toEqual(['prt-x1', 'prt-x2', 'ref-25', 'sprt-x3'])
    const x3 = measured.find((m) => m.thermometer === 'sprt-x3')!.entry
    // 25.5 ohm changes by 0.1 ohm/K: 1 microohm is 10 microkelvin.
    expect(Number(x3.ohm)).toBeCloseTo(prepare(truth.conversions.x3!).toSignal(0.01).value, 6)
    const cellAlone = analysis.thermometers.find((t) => t.record.thermometer.id === 'sprt-x3')!.wtp!
    expect(x3.uOhm).toBeGreaterThan(Math.max(...cellAlone.measurements.map((m) => m.uOhm)))
    expect(x3).toMatchObject({ date: '2026-03-01', session: input.info.id })
  })

  it('takes the value after where the two differ by more than their uncertainty', () => {
    const points = input.points.map((point) =>
      point.kind === 'wtp-after'
        ? {
            ...point,
            channels: point.channels.map((c) =>
              c.channel === 's0' ? { ...c, rawMean: c.rawMean * (1 + 1e-4) } : c,
            ),
          }
        : point,
    )
    const moved = analyse({ ...input, points, options: { monteCarloTrials: 0 } })
    const own = measuredWtp(moved).find((m) => m.thermometer === 'ref-25')!.entry
    const after = moved.referenceWtp!.measurements.find((m) => m.when === 'after')!
    expect(Number(own.ohm)).toBeCloseTo(after.ohm, 8)
    expect(own.note).toMatch(/the value after is taken/)
  })
})

describe('withWtp', () => {
  it('replaces the entry of the same session and keeps all others, in the order of their dates', () => {
    const thermometer = register.thermometers.find((t) => t.id === 'ref-25')!
    const { entry } = measuredWtp(analysis).find((m) => m.thermometer === 'ref-25')!
    const twice = withWtp(withWtp(thermometer, entry), { ...entry, ohm: '25.5' })
    expect(twice.wtpHistory.map((e) => e.date)).toEqual(['2025-06-12', '2025-12-04', '2026-03-01'])
    expect(twice.wtpHistory.at(-1)!.ohm).toBe('25.5')
  })
})

describe('calibrationOfFit', () => {
  it.each(['x1', 'x3'])(
    'makes of %s a calibration through which its readings become true temperatures',
    (id) => {
      const { thermometer, calibration, wtp } = calibrationOfFit(analysis, id, 'QTL-2026-0147, version 1')
      expect(calibration).toMatchObject({
        date: '2026-03-01',
        certificate: 'QTL-2026-0147, version 1',
        laboratory: 'Quennick Temperature Laboratory',
        atZeroCurrent: true,
      })
      expect(calibration.highC - calibration.lowC).toBeGreaterThan(99)
      const kept = register.thermometers.find((t) => t.id === thermometer.id)!
      const entry = withWtp(withCalibration(kept, calibration), wtp!)
      expect(checkThermometer(entry).filter((f) => f.severity === 'error')).toEqual([])
      const channel = bench.channels.find((c) => c.id === id)!
      const thermometers = register.thermometers.map((t) => (t.id === entry.id ? entry : t))
      const chain = buildChain(
        { bench, register: { ...register, thermometers }, date: '2026-03-01' },
        channel,
      )
      for (const point of input.points.filter((p) => p.kind === 'comparison')) {
        const at = point.channels.find((c) => c.channel === id)!
        const { celsius } = chain.convert(at.rawMean, 'ratio', channel.currentMa)
        // Without the correction a reading at 1 mA would lie 6 mK (x1) or 1.2 mK (x3) too high.
        expect(Math.abs(celsius - truth.celsius[id]![point.id]!)).toBeLessThan(3e-4)
      }
    },
  )

  it('states the uncertainty so that a budget gets back the standard uncertainty of the fit', () => {
    const { calibration } = calibrationOfFit(analysis, 'x1', 'c')
    const point = analysis.thermometers
      .find((t) => t.record.channel.id === 'x1')!
      .points.find((p) => p.included && !p.pair.cell)!
    const stated = calibration.uncertainty!.points.find(
      (p) => Math.abs(p.celsius - point.pair.referenceC) < 1e-3,
    )!
    expect(stated.expandedMk / calibration.uncertainty!.k).toBeCloseTo(point.curve.u, 3)
  })

  it('replaces the calibration of the same session and adds to those of others', () => {
    const { calibration } = calibrationOfFit(analysis, 'x1', 'c')
    const bare = register.thermometers.find((t) => t.id === 'prt-x1')!
    const once = withCalibration(bare, calibration)
    const again = withCalibration(once, { ...calibration, certificate: 'd' })
    expect(again.calibrations.map((c) => c.certificate)).toEqual(['d'])
  })

  it('says in words where there is nothing to take', () => {
    expect(() => calibrationOfFit(analysis, 's0', 'c')).toThrow(/No thermometer under test was on channel s0/)
    const few = { ...input, points: input.points.filter((p) => p.kind === 'comparison').slice(0, 1) }
    const refused = analyse({ ...few, options: { monteCarloTrials: 0 } })
    expect(() => calibrationOfFit(refused, 'x4', 'c')).toThrow()
  })
})

/** Lower triangle of a covariance, so that independent normal numbers become errors that hang together. */
function triangle(matrix: readonly (readonly number[])[]): number[][] {
  const lower = matrix.map((row) => row.map(() => 0))
  matrix.forEach((row, i) => {
    for (let j = 0; j <= i; j++) {
      let sum = row[j]!
      for (let k = 0; k < j; k++) sum -= lower[i]![k]! * lower[j]![k]!
      lower[i]![j] = i === j ? Math.sqrt(Math.max(0, sum)) : sum / lower[j]![j]!
    }
  })
  return lower
}

describe('the covariance of a Callendar-Van Dusen calibration', () => {
  // No cell and no point near 0 °C: R0 is found together with A and B, and hangs on both.
  const night = simulate({ seed: 4, cell: 'none', setpoints: [20, 40, 60, 80, 100] })
  const own = analyse({ ...night.input, options: { monteCarloTrials: 0 } })
  const { fit, band } = own.thermometers.find((t) => t.record.channel.id === 'x1')!
  const { calibration } = calibrationOfFit(own, 'x1', 'c')
  const conversion = calibration.conversion as CallendarVanDusenConversion
  const prepared = prepare(conversion)
  const { pairs, sources, model } = fit!
  const celsius = pairs.map((p) => p.referenceC)
  const errors = triangle(
    pairs.map((_, i) =>
      pairs.map((__, j) =>
        sources.reduce((sum, source) => {
          const effects = pointEffectsMk(source, pairs)
          const r = correlationBetween(source.correlation, i, j, celsius[i]! - celsius[j]!)
          return sum + r * effects[i]! * effects[j]! * 1e-6
        }, 0),
      ),
    ),
  )
  const random = seededRandom(20260301)
  const TRIALS = 6000
  const AT = [20, 35, 50, 75, 100]
  /** Every trial: the points moved by errors that hang together as the budget says, and the curve fitted anew. */
  const trials = Array.from({ length: TRIALS }, () => {
    const normal = pairs.map(() => random.normal())
    const points = pairs.map((pair, i) => {
      const errorK = errors[i]!.reduce((sum, l, k) => sum + l * normal[k]!, 0)
      const slope = (pair.underTest.signal / pair.underTestMkPerRelative) * 1e3
      return { t90C: celsius[i]!, signal: pair.underTest.signal - errorK * slope, uT: 1e-3 }
    })
    const drawn = fitThermometer({ model, points }).conversion as CallendarVanDusenConversion
    const relation = prepare(drawn)
    return {
      parameters: [drawn.r0, drawn.a, drawn.b].map(Number),
      errorsMk: AT.map((t) => (relation.toTemperature(prepared.toSignal(t).value).value - t) * 1e3),
    }
  })
  const covarianceOf = (of: (trial: (typeof trials)[number]) => readonly number[]) => {
    const size = of(trials[0]!).length
    const means = Array.from({ length: size }, (_, k) => trials.reduce((s, t) => s + of(t)[k]!, 0) / TRIALS)
    return means.map((_, k) =>
      means.map(
        (__, l) =>
          trials.reduce((s, t) => s + (of(t)[k]! - means[k]!) * (of(t)[l]! - means[l]!), 0) / (TRIALS - 1),
      ),
    )
  }

  it('holds R0 with A and B, as drawing the errors and fitting anew confirms', () => {
    expect(conversion.covariance!.names).toEqual(['r0', 'a', 'b'])
    const { matrix } = conversion.covariance!
    const found = covarianceOf((t) => t.parameters)
    found.forEach((row, k) => {
      row.forEach((value, l) => {
        const size = Math.sqrt(matrix[k]![k]! * matrix[l]![l]!)
        // 6000 draws: a covariance of parameters that hang together is good to 2 parts in 100 of their sizes.
        expect(Math.abs(value - matrix[k]![l]!) / size, `${k} ${l}`).toBeLessThan(0.06)
      })
    })
  })

  it('gives the uncertainty of a temperature over the range, which none without R0 in it does', () => {
    const apart = conversion.covariance!.matrix.slice(1).map((row) => row.slice(1))
    const without = prepare({
      ...conversion,
      uR0: Math.sqrt(conversion.covariance!.matrix[0]![0]!),
      covariance: { names: ['a', 'b'], matrix: apart },
    })
    const drawn = covarianceOf((t) => t.errorsMk)
    AT.forEach((t, k) => {
      const signal = prepared.toSignal(t).value
      const uMk = prepared.uncertainty(signal, {}).standardUncertainty * 1e3
      const found = Math.sqrt(drawn[k]![k]!)
      expect(Math.abs(uMk / found - 1), `${t} °C`).toBeLessThan(0.04)
      expect((without.uncertainty(signal, {}).standardUncertainty * 1e3) / found, `${t} °C`).toBeGreaterThan(
        1.2,
      )
    })
  })

  it('is what a budget that rests on the calibration gets', () => {
    const modes = calibrationModes(prepared)
    for (const { celsius: t, budget } of band.filter((_, i) => i % 10 === 0)) {
      const ofPoints = Math.sqrt(
        budget.lines
          .filter((line) => fit!.sources.some((s) => s.component === line.component))
          .reduce((sum, line) => sum + line.u ** 2, 0),
      )
      expect(Math.hypot(...modes(t)) / ofPoints).toBeCloseTo(1, 3)
    }
  })

  it('leaves a ratio to R0 without the uncertainty of R0, and gives way to an R0 measured since', () => {
    const t = 75
    const r0 = Number(conversion.r0)
    const ratio = prepared.uncertainty(prepared.toSignal(t).value / r0, {}, { quantity: 'ratio' })
    const marginal = prepare({
      ...conversion,
      covariance: {
        names: ['a', 'b'],
        matrix: conversion.covariance!.matrix.slice(1).map((r) => r.slice(1)),
      },
    })
    const alone = marginal.uncertainty(prepared.toSignal(t).value / r0, {}, { quantity: 'ratio' })
    expect(ratio.standardUncertainty).toBeCloseTo(alone.standardUncertainty, 12)
    const again = prepared.uncertainty(prepared.toSignal(t).value, { rWtp: 1e-4 })
    expect(again.contributions.map((c) => c.name)).toEqual(['r0', 'coefficients'])
    expect(again.contributions[0]!.contribution).toBeCloseTo(
      (1e-4 / r0) * Math.abs(prepared.toSignal(t).value / prepared.toSignal(t).dValueDInput),
      9,
    )
  })
})
