import { at, first } from '../base/lists.ts'

/** One entry of a control chart: a value on a day with its standard uncertainty. */
export interface ChartEntry {
  readonly date: string
  readonly value: number
  readonly u: number
  /** Session it comes from, where one is known. */
  readonly session?: string | undefined
}

export interface ChartFinding {
  readonly date: string
  readonly rule: 'action' | 'warning' | 'run'
  readonly words: string
}

/** What an entry is held against: a centre, and distances from it. */
export interface ChartLimits {
  readonly centre: number
  readonly warning: number
  readonly action: number
  /** Entries they were worked out from, all of them before the one judged. */
  readonly from: number
}

export interface ControlChart {
  readonly name: string
  readonly unit: string
  readonly entries: readonly ChartEntry[]
  /** Of the entries before the newest; of all where they are too few to judge by. */
  readonly centre: number
  /** Distances from the centre by which the newest entry was judged; null where fewer than LEAST_FOR_LIMITS are before it. */
  readonly limits: { readonly warning: number; readonly action: number } | null
  /** By which each entry was judged, in their order; null for those that came too early. */
  readonly judgedBy: readonly (ChartLimits | null)[]
  readonly findings: readonly ChartFinding[]
}

/** Fewer entries do not tell how much the values usually move. Common practice, no source. */
export const LEAST_FOR_LIMITS = 4
/** Median of |x - y| over the standard deviation, for two values of one normal distribution: sqrt(2) times the quartile. */
const MEDIAN_RANGE = Math.SQRT2 * 0.674489750196082
/** So many in a row on one side of the centre are no chance; common practice, no source. */
const RUN = 7

const medianOf = (values: readonly number[]): number => middleOf(values.toSorted((a, b) => a - b))

const middleOf = (sorted: readonly number[]): number => {
  const middle = sorted.length >> 1
  return sorted.length % 2 === 1 ? at(sorted, middle) : (at(sorted, middle - 1) + at(sorted, middle)) / 2
}

/** Numbers kept in order while they come, so that their median costs no sorting each time. */
class Ordered {
  readonly #sorted: number[] = []

  get count(): number {
    return this.#sorted.length
  }

  get median(): number {
    return middleOf(this.#sorted)
  }

  add(value: number): void {
    let low = 0
    let high = this.#sorted.length
    while (low < high) {
      const middle = (low + high) >> 1
      if (at(this.#sorted, middle) < value) low = middle + 1
      else high = middle
    }
    this.#sorted.splice(low, 0, value)
  }
}

/** The entries that the next one is judged by: a chart of thousands is drawn while somebody waits. */
class EntriesBefore {
  readonly #values = new Ordered()
  readonly #ranges = new Ordered()
  readonly #us = new Ordered()
  #last: number | undefined

  constructor(entries: readonly ChartEntry[] = []) {
    for (const entry of entries) this.add(entry)
  }

  add({ value, u }: ChartEntry): void {
    if (this.#last !== undefined) this.#ranges.add(Math.abs(value - this.#last))
    this.#values.add(value)
    this.#us.add(u)
    this.#last = value
  }

  /** Limits for one more entry of standard uncertainty u; null where too few are before it. */
  limitsFor(u: number): ChartLimits | null {
    const { count } = this.#values
    if (count < LEAST_FOR_LIMITS) return null
    const usual = Math.max(this.#ranges.median / MEDIAN_RANGE, this.#us.median, u)
    // The centre is known no better than the entries that made it.
    const sigma = usual * Math.sqrt(1 + 1 / count)
    return { centre: this.#values.median, warning: 2 * sigma, action: 3 * sigma, from: count }
  }
}

/**
 * Control chart of single values: each entry is judged by those before it, so that a value that moved is named itself and
 * does not widen its own limits or move its own centre.
 *
 *   centre = median of the entries before;  sigma = max(median |x_i - x_(i-1)| / 0.954, stated u) sqrt(1 + 1/m)
 *   warning at 2 sigma, action at 3 sigma
 *
 * Stated u: the larger of the entry's own and the median of those before it, so that a short calm spell proves no better
 * method. Entries beyond the action limit are no part of what later ones are judged by. Seven in a row on one side of the
 * centre that stood before them count as a move; from then on the level is theirs.
 * Source: ISO 7870-2 (chart for individuals with moving range; number of the part from memory); medians in place of means,
 * for one wrong value must not blame the others: common practice, no source.
 */
export function controlChart(name: string, unit: string, given: readonly ChartEntry[]): ControlChart {
  // Days as text: their order is that of their signs, and no language's.
  const entries = given.toSorted((a, b) => (a.date < b.date ? -1 : Number(a.date > b.date)))
  const findings: ChartFinding[] = []
  const judgedBy: (ChartLimits | null)[] = []
  /** What the next entry is judged by. */
  let before = new EntriesBefore()
  /** Entries in a row on one side, and the limits that stood before the first of them. */
  let run: { entries: ChartEntry[]; side: number; limits: ChartLimits } | undefined
  for (const entry of entries) {
    const limits = before.limitsFor(entry.u)
    judgedBy.push(limits)
    const { date, value } = entry
    const away = limits ? value - limits.centre : 0
    const beyond = limits !== null && Math.abs(away) > limits.action
    if (limits && Math.abs(away) > limits.warning) {
      const sigmas = Math.abs((2 * away) / limits.warning).toFixed(1)
      findings.push({
        date,
        rule: beyond ? 'action' : 'warning',
        words: `${name} on ${date} lies ${sigmas} standard deviations ${away < 0 ? 'below' : 'above'} the ${limits.from} entries before it.`,
      })
    }
    if (limits) {
      const side = Math.sign(value - (run?.limits.centre ?? limits.centre))
      if (run && side === run.side) run.entries.push(entry)
      else run = { entries: [entry], side: Math.sign(away), limits }
    }
    if (!beyond) before.add(entry)
    if (run && run.side !== 0 && run.entries.length === RUN) {
      findings.push({
        date,
        rule: 'run',
        words: `${name}: ${RUN} values in a row, from ${first(run.entries).date} to ${date}, lie ${run.side < 0 ? 'below' : 'above'} what was before them; it has moved.`,
      })
      before = new EntriesBefore(run.entries)
      run = undefined
    }
  }
  const last = judgedBy.at(-1) ?? null
  return {
    name,
    unit,
    entries,
    centre: last?.centre ?? (entries.length > 0 ? medianOf(entries.map((e) => e.value)) : 0),
    limits: last && { warning: last.warning, action: last.action },
    judgedBy,
    findings,
  }
}
