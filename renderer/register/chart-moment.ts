import type { ChartKind } from '../../app/contract/checks.ts'
import type { Point } from '../../app/records/point.ts'

/** The kinds of points that an entry of a chart comes from; others come from no point. */
const FROM: Partial<Record<ChartKind, readonly Point['kind'][]>> = {
  rwtp: ['wtp-after', 'wtp-before'],
  'check-thermometer': ['comparison'],
}

/** When in its session a chart's entry was measured, us of UTC; undefined: at no moment of its own. */
export function momentOf(
  kind: ChartKind,
  points: readonly Pick<Point, 'kind' | 'startUtcUs'>[],
): number | undefined {
  for (const from of FROM[kind] ?? []) {
    const found = points.find((point) => point.kind === from)
    if (found) return found.startUtcUs
  }
  return undefined
}
