import { READING_ORDERS } from '../../app/records/plan.ts'
import { BENCH } from '../app/results/bench-fixture.ts'
import { foretoldTime, foretoldU, shareWithin } from './foretold.ts'
import type { Row } from './row.ts'

const BATHS = 20
const LABORATORIES = 10

const seeds = (n: number) => Array.from({ length: n }, (_, i) => i + 1)

/** What is foretold after three nights on a bath, against the fourth: as it came, by the physics of baths and of the quick lab. */
export async function bench(): Promise<Row[]> {
  const time = seeds(BATHS).map((seed) => foretoldTime(seed, BENCH))
  const same = time.filter((_, i) => i % 2 === 0)
  const other = time.filter((_, i) => i % 2 === 1)
  const row = (name: string, ratios: readonly number[], part: number, least: number | null): Row => ({
    ...{ name, ours: 100 * shareWithin(ratios, part), other: Number.NaN, unit: '%', ratio: Number.NaN },
    goal: least === null ? '' : `at least ${100 * least} %`,
    met: least === null ? null : shareWithin(ratios, part) >= least,
  })
  const byOrder = READING_ORDERS.map((order) => ({
    order,
    ratios: seeds(LABORATORIES).flatMap((seed) => foretoldU(seed, order)),
  }))
  return [
    row(`end within 10 %, ${BATHS} baths`, time, 0.1, 0.9),
    row('  of these with the plan of the nights before', same, 0.1, null),
    row('  of these with another plan', other, 0.1, null),
    row(
      `U within 15 %, ${LABORATORIES} laboratories, all orders, every thermometer and setpoint`,
      byOrder.flatMap((o) => o.ratios),
      0.15,
      0.9,
    ),
    ...byOrder.map(({ order, ratios }) => row(`  of these ${order}`, ratios, 0.15, null)),
  ]
}
