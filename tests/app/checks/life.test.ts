import { describe, expect, it } from 'vitest'
import { lifeOf } from '../../../app/checks/life.ts'
import { Thermometer } from '../../../app/records/register.ts'

/** A thermometer that reads 1 mK more each year, calibrated with so much U. */
const drifting = (dates: readonly string[], mkPerYear: number, expandedMk: number) =>
  Thermometer.parse({
    id: 't',
    name: 'T',
    kind: 'prt',
    lowC: 0,
    highC: 200,
    calibrations: dates.map((date, i) => {
      const years = (Date.parse(date) - Date.parse(dates[0]!)) / (365.25 * 86_400_000)
      // R0 lower by R0 A d: the same resistance reads d higher.
      const r0 = 100 * (1 - (3.9083e-3 * mkPerYear * years) / 1e3)
      return {
        id: `c${i}`,
        date,
        ...(i === dates.length - 1 && { due: `${Number(date.slice(0, 4)) + 2}${date.slice(4)}` }),
        certificate: `Q-${i}`,
        laboratory: 'Quennick Temperature Laboratory',
        lowC: 0,
        highC: 200,
        conversion: { kind: 'callendar-van-dusen', r0, a: 3.9083e-3, b: -5.775e-7, c: -4.183e-12 },
        uncertainty: {
          k: 2,
          points: [
            { celsius: 0, expandedMk },
            { celsius: 200, expandedMk },
          ],
        },
      }
    }),
  })

describe('lifeOf', () => {
  const dates = ['2020-01-01', '2022-01-01', '2024-01-01', '2026-01-01']

  it('shows each calibration against the first, over temperature with U', () => {
    const { curves } = lifeOf(drifting(dates, 1, 5))
    expect(curves.map(({ date }) => date)).toEqual(dates)
    expect(curves[0]!.points.every((p) => p.differenceMk === 0)).toBe(true)
    expect(curves[3]!.points[0]!.differenceMk).toBeCloseTo(6, 1)
    expect(curves[3]!.points[0]!.expandedMk).toBeCloseTo(5 * Math.SQRT2, 9)
  })

  it('foretells the drift to the next due date', () => {
    const { forecast } = lifeOf(drifting(dates, 1, 5))
    expect(forecast[0]).toMatchObject({ celsius: 0, date: '2028-01-01' })
    expect(forecast[0]!.mkPerYear).toBeCloseTo(1, 2)
    expect(forecast[0]!.movedMk).toBeCloseTo(2, 1)
    // Four at 6, 4, 2 and 0 years back, each with u = 2.5 mK: u(b) = u/√20, and 5 years from their middle to the due date.
    expect(forecast[0]!.uMkPerYear).toBeCloseTo(2.5 / Math.sqrt(20), 3)
    expect(forecast[0]!.expandedMk).toBeCloseTo(2 * 2.5 * Math.sqrt(1 / 4 + 25 / 20), 2)
  })

  it('advises the interval over which the drift stays within the certificate, and names the rule', () => {
    const still = lifeOf(drifting(dates, 0, 5)).advice!
    const moving = lifeOf(drifting(dates, 3, 5)).advice!
    expect(moving.months).toBeLessThan(still.months)
    // 3 mK a year and U of it, of 5 mK: about a year.
    expect(moving.months).toBeGreaterThan(6)
    expect(moving.months).toBeLessThan(20)
    expect(moving.words).toMatch(/Rule: the drift .* Advice only/)
    expect(lifeOf(drifting(dates, 80, 5)).advice!.months).toBe(0)
  })

  it('advises nothing from two calibrations, and has nothing to show without one', () => {
    expect(lifeOf(drifting(dates.slice(0, 2), 1, 5)).advice).toBeNull()
    expect(lifeOf(drifting(dates.slice(0, 2), 1, 5)).forecast).toHaveLength(7)
    expect(lifeOf(drifting([], 1, 5))).toEqual({ curves: [], forecast: [], advice: null })
  })
})
