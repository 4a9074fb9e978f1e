import { describe, expect, it } from 'vitest'
import { analyse } from '../../../app/results/analysis.ts'
import { templateFor } from '../../../app/results/uncertainty-template.ts'
import { simulate } from '../../report/fixture.ts'

const rowsOf = (options: Parameters<typeof analyse>[0]['options'], channel = 'x1') => {
  const { input } = simulate({ seed: 4 })
  const { bench } = input.setup
  // The thermometer that is looked at and its reference alone: the others would only take time.
  const channels = bench.channels.filter(({ id, role }) => id === channel || role === 'reference')
  const analysis = analyse({
    ...input,
    setup: { ...input.setup, bench: { ...bench, channels } },
    options: { monteCarloTrials: 60_000, ...options },
  })
  return analysis.thermometers.find((t) => t.record.channel.id === channel)!.monteCarlo!.rows
}

describe('propagateDistributions', () => {
  it('agrees with the law of propagation where many components of like size add', () => {
    for (const row of rowsOf({})) {
      expect(row.uMonteCarlo / row.u, `${row.what} ${row.point}`).toBeCloseTo(1, 1)
      expect(Math.abs(row.high + row.low) / row.expanded).toBeLessThan(0.05)
    }
  })

  it('adds what acts on the curve alone to the curve, normal or not, and to no point', () => {
    const template = structuredClone(templateFor('prt'))
    const uOf = (mk: number, distribution: 'normal' | 'rectangular') => {
      const components = template.components.map((c) =>
        c.id === 'interpolation'
          ? { ...c, distribution, replacedBy: undefined, values: [{ celsius: 0, mk }] }
          : c,
      )
      return rowsOf({ templates: [{ ...template, components }] })
    }
    const without = uOf(0, 'normal')
    for (const [mk, distribution] of [
      [30, 'normal'],
      [30 * Math.sqrt(3), 'rectangular'],
    ] as const)
      uOf(mk, distribution).forEach((row, i) => {
        const rest = without[i]!.uMonteCarlo
        const expected = row.what === 'curve' ? Math.hypot(30, rest) : rest
        expect(row.uMonteCarlo / expected, `${row.what} ${row.point}`).toBeCloseTo(1, 1)
        expect(row.uMonteCarlo / row.u).toBeCloseTo(1, 1)
      })
  })

  it('knows the ends far better than trials that draw the normal part as well could', () => {
    // The quantile of a normal sample of n: u(q) = sqrt(p (1 - p) / n) / density; at p = 0.9773 that is 2.8 u / sqrt(n).
    const [p, density] = [0.977_25, Math.exp(-2) / Math.sqrt(2 * Math.PI)]
    for (const channel of ['x1', 'x3', 'x4'])
      for (const row of rowsOf({}, channel)) {
        const plain = 2 * row.u * (Math.sqrt((p * (1 - p)) / 60_000) / density)
        expect(row.numerical, `${channel}, ${row.what} ${row.point}`).toBeLessThan(plain / 2)
        expect(row.numerical).toBeGreaterThan(0)
      }
  })

  it('decides for agreement or difference only where the trials can tell: JCGM 101:2008, 8.1, with what they leave open', () => {
    const template = structuredClone(templateFor('prt'))
    const components = template.components.map((c) =>
      c.id === 'immersion'
        ? { ...c, values: [{ celsius: 0, mk: 2.5 }], correlation: { kind: 'common' as const } }
        : c,
    )
    const rows = rowsOf({ templates: [{ ...template, components }], monteCarloTrials: 20_000 })
    for (const row of rows) {
      const [low, high] = [Math.abs(row.expanded + row.low), Math.abs(row.expanded - row.high)]
      expect(row.lowDifference).toBeCloseTo(low, 12)
      expect(row.highDifference).toBeCloseTo(high, 12)
      const difference = Math.max(low, high)
      const isOpen = Math.abs(difference - row.tolerance) < row.numerical
      expect(row.verdict, row.point).toBe(isOpen ? 'open' : difference < row.tolerance ? 'agree' : 'differ')
    }
    expect(new Set(rows.map(({ verdict }) => verdict)).size).toBe(3)
  })

  it('gives a shorter interval where one rectangular component dominates, as JCGM 101:2008, 9.2.3 shows', () => {
    const template = structuredClone(templateFor('prt'))
    const components = template.components.map((c) =>
      c.id === 'immersion'
        ? { ...c, values: [{ celsius: 0, mk: 200 }], correlation: { kind: 'common' as const } }
        : c,
    )
    const [row] = rowsOf({ templates: [{ ...template, components }] })
    // A rectangular distribution of half-width a holds 95.45 % within 0.9545 a, not within 2 a/sqrt(3) = 1.155 a.
    expect(row!.expanded).toBeCloseTo((2 * 200) / Math.sqrt(3), -1)
    expect(row!.high).toBeCloseTo(0.9545 * 200, -1)
    expect(row!.verdict).toBe('differ')
  })

  it('follows a correlation between two components as JCGM 100:2008, equation (16), does', () => {
    const template = structuredClone(templateFor('prt'))
    const sized = (r: number | null) => ({
      ...template,
      components: template.components.map((c) => {
        if (c.id === 'immersion' || c.id === 'hysteresis') {
          const correlation = { kind: 'common' as const }
          const own = {
            ...c,
            origin: 'fixed' as const,
            distribution: 'normal' as const,
            correlation,
            values: [{ celsius: 0, mk: c.id === 'immersion' ? 30 : 40 }],
          }
          return c.id === 'hysteresis' && r !== null
            ? { ...own, correlatedWith: { component: 'immersion', r } }
            : own
        }
        return c
      }),
    })
    const uOf = (r: number | null) => {
      const [row] = rowsOf({ templates: [sized(r)] })
      return row!
    }
    const rest = uOf(null).u ** 2 - 30 ** 2 - 40 ** 2
    for (const r of [-0.5, 0.8]) {
      const row = uOf(r)
      expect(row.u).toBeCloseTo(Math.sqrt(rest + 30 ** 2 + 40 ** 2 + 2 * r * 30 * 40), 9)
      expect(row.uMonteCarlo / row.u).toBeCloseTo(1, 1)
    }
  })
})
