/** One visit of a temperature: what the thermometer under test showed against the reference. */
export interface Visit {
  readonly point: string
  readonly setpointC: number
  readonly label: string | null
  /** Thermometer under test less reference, mK, by one and the same conversion for all visits. */
  readonly differenceMk: number
  readonly u: number
  /** Taken after the thermometer had been at its hottest. */
  readonly afterHottest: boolean
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

/**
 * Half-width of the hysteresis, mK: half the largest difference of the mean of the visits after the hottest point from the
 * mean of those before it; a difference within twice its standard uncertainty counts as one such uncertainty, for that is how
 * well it is known to be nothing. Null where no temperature was visited both ways. The one definition, for budget and window.
 */
export function hysteresisMk(revisits: readonly Revisit[]): number | null {
  const halves = revisits.flatMap(({ visits }) => {
    const difference = upAndDown(visits)
    if (!difference) return []
    const { mk, u } = difference
    return [(Math.abs(mk) > 2 * u ? Math.abs(mk) : u) / 2]
  })
  return halves.length === 0 ? null : Math.max(...halves)
}

/** Mean of the visits after the hottest point less mean of those before, mK; null where one side is missing. */
export function upAndDown(visits: readonly Visit[]): { readonly mk: number; readonly u: number } | null {
  const side = (afterHottest: boolean) => visits.filter((v) => v.afterHottest === afterHottest)
  const [up, down] = [side(false), side(true)]
  if (up.length === 0 || down.length === 0) return null
  const mean = (list: readonly Visit[]) => list.reduce((sum, v) => sum + v.differenceMk, 0) / list.length
  const u = (list: readonly Visit[]) => Math.hypot(...list.map((v) => v.u)) / list.length
  return { mk: mean(down) - mean(up), u: Math.hypot(u(up), u(down)) }
}
