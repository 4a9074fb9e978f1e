import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { PointChannel } from '../../../app/records/point.ts'
import { buildReport } from '../../../app/report/content.ts'
import { reportHtml } from '../../../app/report/html.ts'
import { analyse } from '../../../app/results/analysis.ts'
import { ComparisonError } from '../../../app/results/uncertainty-error.ts'
import { simulate } from '../../report/fixture.ts'

const { input } = simulate({ seed: 8 })

/** What a night can lack: whole points, channels of points, statistics that could not be had. */
const spoiled = fc.record({
  dropPoints: fc.array(fc.nat(7), { maxLength: 6 }),
  dropChannels: fc.array(fc.tuple(fc.nat(7), fc.constantFrom('s0', 'x1', 'x2', 'x3', 'x4')), {
    maxLength: 8,
  }),
  blank: fc.array(
    fc.tuple(
      fc.nat(7),
      fc.constantFrom('s0', 'x1', 'x3', 'x4'),
      fc.constantFrom<Partial<PointChannel>>(
        { uTypeAMk: null },
        { referenceC: null },
        { rawSd: 0, nEffective: Number.NaN, n: 1 },
        { signal: null, t90C: null },
        { selfHeatingMk: 3, uSelfHeatingMk: null },
      ),
    ),
    { maxLength: 6 },
  ),
})

describe('analyse, nights with something missing', () => {
  it('gives a report or refuses in words; never a number that is not one', () => {
    fc.assert(
      fc.property(spoiled, ({ dropPoints, dropChannels, blank }) => {
        const points = input.points
          .map((p, i) => ({
            ...p,
            channels: p.channels
              .filter((c) => !dropChannels.some(([at, id]) => at === i && id === c.channel))
              .map((c) =>
                Object.assign(
                  {},
                  c,
                  ...blank.filter(([at, id]) => at === i && id === c.channel).map(([, , b]) => b),
                ),
              ),
          }))
          .filter((_, i) => !dropPoints.includes(i))
        try {
          const report = buildReport(analyse({ ...input, points, options: { monteCarloTrials: 0 } }))
          for (const [key, n] of Object.entries(report.numbers)) {
            expect(Number.isFinite(n.exact), key).toBe(true)
            expect(n.value, key).not.toMatch(/NaN|Infinity|none/)
          }
          expect(reportHtml(report)).not.toMatch(/NaN|undefined|Infinity/)
        } catch (fault) {
          if (!(fault instanceof ComparisonError)) throw fault
        }
      }),
      {
        numRuns: 60,
        examples: [
          // A visit to the water cell of which only one value was kept.
          [
            {
              dropPoints: [],
              dropChannels: [],
              blank: [
                [0, 's0', { uTypeAMk: null }],
                [0, 's0', { rawSd: 0, nEffective: Number.NaN, n: 1 }],
              ],
            },
          ],
        ],
      },
    )
  })
})
