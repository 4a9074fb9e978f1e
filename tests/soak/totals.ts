import type { NightResult } from './night.ts'

/** Nights over which memory may still grow before it has to be flat. */
const WARM_UP = 5
/** Most that memory may grow after the warm-up, MB. */
const FLAT_MB = 10

/** What many nights came to. */
export class Totals {
  readonly nights: NightResult[] = []
  /** What is in use after each night, once the rest has been collected, MB. */
  readonly memory: number[] = []

  readonly #collect: () => void

  /** `collect` collects garbage at once. */
  constructor(collect: () => void) {
    this.#collect = collect
  }

  add(night: NightResult): void {
    this.#collect()
    this.nights.push(night)
    const { heapUsed, external } = process.memoryUsage()
    this.memory.push(Math.round((heapUsed + external) / 1e6))
  }

  get residentMb(): number {
    return Math.round(process.memoryUsage().rss / 1e6)
  }

  get memoryMb(): number {
    return this.memory.at(-1) ?? 0
  }

  /** Median of the last nights less the median just after the warm-up, MB; 0 for a short run. */
  get growthMb(): number {
    if (this.memory.length < 3 * WARM_UP) return 0
    return median(this.memory.slice(-WARM_UP)) - median(this.memory.slice(WARM_UP, 2 * WARM_UP))
  }

  ended(ending: NightResult['ending']): number {
    return this.nights.filter((n) => n.ending === ending).length
  }

  sum(of: (night: NightResult) => number): number {
    return this.nights.reduce((sum, night) => sum + of(night), 0)
  }

  get good(): boolean {
    return (
      this.ended('hung') === 0 &&
      this.ended('crashed') === 0 &&
      this.sum((n) => n.wrong.length) === 0 &&
      this.sum((n) => n.lost) === 0 &&
      this.growthMb <= FLAT_MB
    )
  }

  faults(): [string, number][] {
    const all = new Map<string, number>()
    for (const night of this.nights) {
      for (const [kind, count] of Object.entries(night.faults)) all.set(kind, (all.get(kind) ?? 0) + count)
    }
    return [...all].sort((a, b) => b[1] - a[1])
  }

  line(): string {
    return (
      `${this.nights.length} nights: ${this.ended('complete')} complete, ${this.ended('complete-with-marks')} complete with marks, ` +
      `${this.ended('stopped-safely')} stopped safely, ${this.ended('hung')} hung, ${this.ended('crashed')} crashed; ` +
      `${this.sum((n) => n.points)} points, ${this.sum((n) => n.wrong.length)} wrong; ` +
      `${this.sum((n) => n.readings)} readings, ${this.sum((n) => n.lost)} lost; ` +
      `${this.faults().reduce((sum, [, n]) => sum + n, 0)} faults; memory in use ${this.memoryMb} MB, grown by ${this.growthMb} MB, resident ${this.residentMb} MB`
    )
  }
}

function median(values: readonly number[]): number {
  const sorted = values.toSorted((a, b) => a - b)
  return sorted[sorted.length >> 1] ?? 0
}

/** The page for docs. */
export function table(
  totals: Totals,
  run: { nights: number; first: number; only: string | undefined },
): string {
  const again = `npm run soak -- --nights ${run.nights} --seed ${run.first}${run.only ? ` --only ${run.only}` : ''} --table docs/soak.md`
  const hours = totals.sum((n) => n.hours)
  const realS = totals.sum((n) => n.realS)
  const endings = (['complete', 'complete-with-marks', 'stopped-safely', 'hung', 'crashed'] as const).map(
    (ending) => `| ${ending} | ${totals.ended(ending)} |`,
  )
  const faults = totals.faults().map(([kind, count]) => {
    const nights = totals.nights.filter((n) => (n.faults[kind] ?? 0) > 0).length
    return `| ${kind} | ${count} | ${nights} |`
  })
  return `# Soak: nights with faults

Simulated nights of the lab in a box (${hours.toFixed(0)} h of its time in ${(realS / 60).toFixed(1)} min), each with a plan and a handful of faults drawn
from its seed, over real TCP. Made with one command:

    ${again}

| measure | count |
|---|---|
| nights | ${totals.nights.length} |
| points taken | ${totals.sum((n) => n.points)} |
| of them marked | ${totals.sum((n) => n.marked)} |
| unmarked points off by more than they may (against the lab's truth) | ${totals.sum((n) => n.wrong.length)} |
| readings stored | ${totals.sum((n) => n.readings)} |
| shown readings that are not in the file as shown | ${totals.sum((n) => n.lost)} |
| gaps in the record, each marked | ${totals.sum((n) => n.gaps)} |
| memory in use at the end, MB | ${totals.memoryMb} |
| grown since the first nights, MB | ${totals.growthMb} |
| resident memory at the end, MB | ${totals.residentMb} |

## Endings

| ending | nights |
|---|---|
${endings.join('\n')}

## Faults that acted

| fault | times | nights |
|---|---|---|
${faults.join('\n')}

What is not ordered: a thermometer that drifts, or steps by less than the settling band while the bath travels. Nobody could
tell that from the thermometer itself; check thermometers, R(WTP) before and after, and the residuals of the fit are there
for it.
`
}
