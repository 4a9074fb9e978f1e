import { describe, expect, it } from 'vitest'
import { buildCertificate } from '../../../../app/report/certificate/build.ts'
import { analyse } from '../../../../app/results/analysis.ts'
import { CHOICES, simulate } from '../../../report/fixture.ts'

/** The curve that prt-x1 was given the last time, lower by a hundredth of an ohm than what it has now. */
const BEFORE = {
  id: 'before',
  date: '2025-02-10',
  certificate: 'QTL-2025-0077',
  conversion: {
    kind: 'callendar-van-dusen',
    r0: '100.0131',
    a: '3.9072e-3',
    b: '-5.771e-7',
    c: '-4.183e-12',
  },
  uncertainty: {
    k: 2,
    points: [
      { celsius: 0, expandedMk: 20 },
      { celsius: 100, expandedMk: 20 },
    ],
  },
} as const

function certificateOf(calibrations: readonly unknown[]) {
  const { input } = simulate({ errors: 0.01 })
  const thermometer = input.setup.register.thermometers.find((t) => t.id === 'prt-x1')!
  thermometer.calibrations = calibrations as typeof thermometer.calibrations
  const analysis = analyse({ ...input, options: { monteCarloTrials: 0 } })
  const result = analysis.thermometers.find((t) => t.record.thermometer.id === 'prt-x1')!
  const { certificate } = buildCertificate(analysis, result)
  const table = certificate.blocks.flatMap((block) =>
    block.kind === 'table' && block.caption.includes('QTL-2025-0077') ? [block] : [],
  )
  return { certificate, table: table[0] }
}

describe('the change since the calibration before', () => {
  it('is told at each point, with its U, from the curve that was in force', () => {
    const { certificate, table } = certificateOf([BEFORE])
    expect(table!.rows).toHaveLength(CHOICES.setpoints.length)
    const book = certificate.numbers
    table!.rows.forEach((row, i) => {
      const keys = row.flatMap((cell) => (typeof cell === 'string' ? [] : [cell.key]))
      expect(keys.slice(0, 2)).toEqual([`point.${i + 1}.t90`, `change.${i + 1}`])
      // R0 was lower by a part in 10 000: a reading shows 26 mK more at 0 degC, 37 mK at 100 degC.
      const change = book[`change.${i + 1}`]!
      expect(change.unit).toBe('mK')
      expect(Number(change.value)).toBeGreaterThan(22)
      expect(Number(change.value)).toBeLessThan(40)
      expect(Number(change.uncertainty)).toBeGreaterThanOrEqual(20)
      expect(Number(change.uncertainty)).toBeLessThan(60)
    })
  })

  it('is not told of a thermometer that had no calibration', () => {
    const { certificate, table } = certificateOf([])
    expect(table).toBeUndefined()
    expect(Object.keys(certificate.numbers).filter((key) => key.startsWith('change.'))).toEqual([])
  })
})
