import { runLabNight, SHORT_NIGHT } from '../../main/host/validation/night.ts'

export interface Checked {
  seed: number
  thermometer: string
  what: string
  /** Fitted less true, over the expanded uncertainty stated for it. */
  errorOverU: number
}

/** Runs one night on the lab in a box and holds each fit against what only the lab knows. */
export async function checkNight(seed: number, plan = SHORT_NIGHT): Promise<Checked[]> {
  const { rows } = await runLabNight(seed, { plan })
  return rows.map(({ thermometer, celsius, signal, truth, expanded }) => ({
    seed,
    thermometer,
    what: `${celsius} °C`,
    errorOverU: (signal - truth) / expanded,
  }))
}

/** Part of all checks whose error lies within the stated expanded uncertainty, by thermometer. */
export function coverageBy(checks: readonly Checked[]): Map<string, number> {
  const groups = Map.groupBy(checks, ({ thermometer }) => thermometer)
  return new Map(
    [...groups].map(([id, all]) => [
      id,
      all.filter(({ errorOverU }) => Math.abs(errorOverU) <= 1).length / all.length,
    ]),
  )
}
