import { first, last } from '../base/lists.ts'

/**
 * Standard uncertainties beyond which a check has seen something: 99 % of a normal distribution, for a night makes several such
 * checks, with every thermometer. Common practice, no source.
 */
export const SEEN = 2.576

/** One visit of a temperature: what the thermometer under test showed against the reference. */
export interface Visit {
  readonly point: string
  readonly setpointC: number
  readonly label: string | null
  /** Thermometer under test less reference, mK, by one and the same conversion for all visits. */
  readonly differenceMk: number
  readonly u: number
  /** Taken on the way down: below the hottest temperature, after it. */
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

/** Setpoints nearer than this are one temperature, K. */
export const SAME_K = 0.5

/**
 * Groups visits of the same temperature and says by how much they differ: hysteresis where they were taken up and
 * down, else repeatability.
 */
export function revisitsOf(visits: readonly Visit[]): Revisit[] {
  const groups: Visit[][] = []
  for (const visit of visits) {
    const group = groups.find((g) => Math.abs(first(g).setpointC - visit.setpointC) < SAME_K)
    if (group) group.push(visit)
    else groups.push([visit])
  }
  return groups
    .filter((group) => group.length > 1)
    .map((group) => {
      const sorted = group.toSorted((a, b) => a.differenceMk - b.differenceMk)
      const low = first(sorted)
      const high = last(sorted)
      return {
        setpointC: first(group).setpointC,
        visits: group,
        spanMk: high.differenceMk - low.differenceMk,
        uSpanMk: Math.hypot(low.u, high.u),
      }
    })
}

/** What visits on both ways tell: half-width, mK, and whether they differ by more than their uncertainty explains. */
export interface HysteresisFound {
  readonly halfMk: number
  readonly found: boolean
  /** Points on the way down: there the error has the other sign. */
  readonly down: ReadonlySet<string>
}

/**
 * Half-width of the hysteresis, mK: half the largest difference of the mean of the visits after the hottest point from the
 * mean of those before it; a difference that its standard uncertainty explains (99 %) counts as one such uncertainty, for that
 * is how well it is known to be nothing. Null where no temperature was visited both ways. The one definition, for budget and window.
 */
export function hysteresisOf(revisits: readonly Revisit[]): HysteresisFound | null {
  const down = new Set(
    revisits.flatMap(({ visits }) => visits.flatMap((v) => (v.afterHottest ? [v.point] : []))),
  )
  const halves = revisits.flatMap(({ visits }): HysteresisFound[] => {
    const difference = upAndDown(visits)
    if (!difference) return []
    const { mk, u } = difference
    const found = Math.abs(mk) > SEEN * u
    return [{ halfMk: (found ? Math.abs(mk) : u) / 2, found, down }]
  })
  return halves.toSorted((a, b) => Number(b.found) - Number(a.found) || b.halfMk - a.halfMk)[0] ?? null
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
