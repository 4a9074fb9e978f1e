import { describe, expect, it } from 'vitest'
import { analyse } from '../../../app/comparison/analysis.ts'
import { buildChain } from '../../../app/comparison/chain.ts'
import { checkThermometer } from '../../../app/comparison/register-check.ts'
import {
  calibrationOfFit,
  measuredWtp,
  withCalibration,
  withWtp,
} from '../../../app/comparison/session-entries.ts'
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
