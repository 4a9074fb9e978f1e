import { describe, expect, it } from 'vitest'
import { cellOf, columnDecimals, hysteresis, tableText } from '../../../renderer/points/points.model.ts'
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

describe('columnDecimals', () => {
  it('is that of the longest number', () => {
    expect(columnDecimals(points, 'ch-2', 'signal')).toBeGreaterThan(3)
    expect(columnDecimals(points, 'nobody', 'signal')).toBe(0)
  })
})

describe('hysteresis', () => {
  it('compares the second visit of a temperature with the first', () => {
    const fit = fitsOf(station)[0]!
    const rows = hysteresis(fit, points)
    expect(rows).toHaveLength(1)
    expect(rows[0]).toMatchObject({ celsius: 100, first: 'up', second: 'down' })
    expect(rows[0]!.differenceMk).toBeCloseTo(fit.points[4]!.residualMk - fit.points[2]!.residualMk, 12)
  })
})

describe('tableText', () => {
  it('is a table for a spreadsheet with plain points', () => {
    const lines = tableText(points, [{ id: 'ch-2', name: 'T 1' }], 'signal').split('\n')
    expect(lines[0]).toBe('point\tsetpoint / degC\tUTC\tT 1 / ohm')
    expect(lines[1]).toMatch(/^p-1\t0\t\d{4}-.*Z\t\d+\.\d+$/)
  })
})
