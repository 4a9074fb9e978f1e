import { type Plan, READING_ORDERS } from '../../app/records/plan.ts'
import { biasMk, KINDS, nightsInOrder, percent, tally, together, VISITS } from '../report/coverage-nights.ts'

/** Errors of a night's temperatures hang together, so a count is taken as good to what single nights would leave. */
const WIDE = 4
const STATED = 95.45
/** Rectangular sources and the interpolation equation make U a little wider than is needed; more than this is too wide. */
const MOST = 99.5
/** Drift that a settling rule usually allows, and one that no rule would, mK/min. */
const ALLOWED = 0.5
const FAST = 6

/**
 * Simulated comparisons whose truth is known, for each kind of thermometer, each order of reading, and visits up or up and down:
 * how often the truth lies within U, and what each order leaves of a drift, read as it should be and naively.
 */
export function coverageOver(nights: number, first: number): { good: boolean; lines: string[] } {
  const lines: string[] = []
  let good = true
  const least = STATED - WIDE * Math.sqrt((STATED * (100 - STATED)) / nights)
  const say = (words: string, holds: boolean) => {
    lines.push(`${holds ? '' : 'NOT HELD '}${words}`)
    good &&= holds
  }
  for (const order of READING_ORDERS) {
    for (const visits of Object.keys(VISITS) as (keyof typeof VISITS)[]) {
      for (const drift of [0, ALLOWED]) {
        const found = tally(nightsInOrder({ order, visits, driftMkPerMin: drift }, first, nights))
        for (const [channel, kind] of Object.entries(KINDS)) {
          const own = together([...found].filter(([key]) => key.startsWith(`${channel} `)).map(([, t]) => t))
          const share = percent(own)
          // A drift counts as scatter of the readings as well, so that U errs on the wide side where a bath drifts.
          say(
            `${order}, ${visits}, ${drift} mK/min, ${kind}: ${share.toFixed(1)} % of ${own.tries} truths within U`,
            share >= least && (drift > 0 || share <= MOST),
          )
        }
      }
    }
  }
  const few = Math.min(nights, 50)
  const left = (order: Plan['order'], naive: boolean, drift: number) =>
    biasMk(
      nightsInOrder({ order, visits: 'up', driftMkPerMin: drift, oneWay: true, naive }, first, few),
      'x4',
    )
  const still = left('symmetric', false, 0)
  for (const order of READING_ORDERS) {
    const [naive, read] = [left(order, true, FAST) - still, left(order, false, FAST) - still]
    say(
      `${order}: a drift of ${FAST} mK/min moves the result by ${read.toFixed(2)} mK, by ${naive.toFixed(2)} mK if taken naively`,
      order === 'sequence' ? Math.abs(naive) > 4 : Math.abs(read) < 0.2,
    )
  }
  return { good, lines }
}
