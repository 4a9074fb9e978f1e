import { describe, expect, it } from 'vitest'
import { buildReport } from '../../../app/report/content.ts'
import { analyse } from '../../../app/results/analysis.ts'
import { quickNight } from '../../soak/hostile/night.ts'

describe('a report of a comparison with two references', () => {
  const { input } = quickNight({ kind: 'none', order: 'symmetric', seed: 2, references: 2 })
  const report = buildReport(analyse({ ...input, options: { monteCarloTrials: 0 } }), { decimalSign: '.' })
  const text = JSON.stringify(report)

  it('names both of them, their certificates and their R(0.01 °C) in the chain to the SI', () => {
    for (const serial of ['QS25-0147', 'QS25-0148']) expect(text).toContain(serial)
    expect(text).toContain('The certificate of Second reference SPRT: U from ')
    expect(text).toContain('R(0.01 °C) of Second reference SPRT')
    expect(text).toContain('reference thermometers on the ITS-90')
  })

  it('says that they were two, and writes both R(0.01 °C) in the same way', () => {
    expect(text).toContain('2 reference thermometers, by the mean of them weighted by their uncertainties')
    const table = report.blocks.find((b) => b.kind === 'table' && b.caption === 'Values in force on the day')
    const rows = JSON.stringify(table)
    expect(rows.match(/R\(0\.01 °C\) of/g)).toHaveLength(2)
    expect(rows).not.toMatch(/\d[eE]-\d/)
    expect(Object.keys(report.numbers).filter((key) => key.endsWith('.rWtp'))).toEqual(
      expect.arrayContaining(['reference.rWtp', 'reference.ref-b.rWtp']),
    )
  })

  it('gives a thermocouple no measuring current', () => {
    expect(text).toMatch(/Thermocouple, measured in session/)
    expect(text).toMatch(/Standard platinum resistance thermometer, measured at 1 mA in session/)
  })

  it('states in the annex the distribution that the budget took', () => {
    const annex = text.slice(text.indexOf('Annex: where the components'))
    expect(annex).toContain('["Reference junction","B","normal"')
  })
})
