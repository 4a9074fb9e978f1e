import { describe, expect, it } from 'vitest'
import { buildReport } from '../../../app/report/content.ts'
import { analyse } from '../../../app/results/analysis.ts'
import { type Guided, quickNight } from '../../soak/hostile/night.ts'

/** The annex of a mixed night: what only common practice backs, by component, and what would replace it. */
function practiceOf(without?: Guided): ReadonlyMap<string, string> {
  const { input } = quickNight({ kind: 'none', order: 'symmetric', seed: 12, ...(without && { without }) })
  const report = buildReport(analyse({ ...input, options: { monteCarloTrials: 0 } }))
  const table = report.blocks.find((b) => b.kind === 'table' && b.caption.startsWith('Components that only'))
  if (table?.kind !== 'table') throw new Error('the report has no such table')
  return new Map(table.rows.map(([name, instead]) => [String(name), String(instead)]))
}

describe('the annex of components that only common practice backs', () => {
  it('names the check that was left out, and no component that a check measured', () => {
    const whole = practiceOf()
    expect([...whole.keys()]).not.toContain('Bath, uniformity')
    expect([...whole.keys()].filter((name) => name.includes('self-heating'))).toEqual([])
    expect(practiceOf('pairs').get('Thermometer under test, self-heating')).toMatch(/pairs of currents/)
    expect(practiceOf('exchange').get('Bath, uniformity')).toMatch(/exchange of places/)
    expect(practiceOf('lift').get('Thermometer under test, immersion (stem conduction)')).toMatch(
      /lift by 20 mm/,
    )
    expect(practiceOf('first-again').get('Thermometer under test, hysteresis')).toMatch(/after the hottest/)
  }, 60_000)
})
