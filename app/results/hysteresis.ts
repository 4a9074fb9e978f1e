/** One visit of a temperature: what the thermometer under test showed against the reference. */
export interface Visit {
  readonly point: string
  readonly setpointC: number
  readonly label: string | null
  /** Thermometer under test less reference, mK, by one and the same conversion for all visits. */
  readonly differenceMk: number
  readonly u: number
}

/** Visits of one temperature compared. */
export interface Revisit {
  readonly setpointC: number
  readonly visits: readonly Visit[]
  /** Largest less smallest difference, mK, and its standard uncertainty from the visits' repeatability. */
  readonly spanMk: number
  readonly uSpanMk: number
}

/** Setpoints nearer than this are one temperature. */
const SAME_K = 0.5

/**
 * Groups visits of the same temperature and says by how much they differ: hysteresis where they were taken up and
 * down, else repeatability.
 */
export function revisitsOf(visits: readonly Visit[]): Revisit[] {
  const groups: Visit[][] = []
  for (const visit of visits) {
    const group = groups.find((g) => Math.abs(g[0]!.setpointC - visit.setpointC) < SAME_K)
    if (group) group.push(visit)
    else groups.push([visit])
  }
  return groups
    .filter((group) => group.length > 1)
    .map((group) => {
      const sorted = group.toSorted((a, b) => a.differenceMk - b.differenceMk)
      const low = sorted[0]!
      const high = sorted.at(-1)!
      return {
        setpointC: group[0]!.setpointC,
        visits: group,
        spanMk: high.differenceMk - low.differenceMk,
        uSpanMk: Math.hypot(low.u, high.u),
      }
    })
}

/** Half the largest difference of revisited temperatures, mK; null where none was visited twice. */
export function largestHalfSpanMk(revisits: readonly Revisit[]): number | null {
  return revisits.length === 0 ? null : Math.max(...revisits.map((r) => r.spanMk)) / 2
}
