import { existsSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { Plan } from '../../app/records/plan.ts'
import { placeLab } from '../../main/host/lab-desk.ts'
import { openHostedStation } from '../../main/host/open-station.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'
import { openSessionFile } from '../../main/store/session-file.ts'
import { analyseSession } from '../../main/study/report/session-content.ts'
import { resistanceOf } from '../../simulator/physics/sensors.ts'

/** A short night: the settling rule is loose, since what a point needs is a bath that stands still for its own length. */
export const SHORT_NIGHT = Plan.parse({
  id: 'short-night',
  name: 'Short night',
  setpoints: [15, 35, 55, 75, 95].map((celsius) => ({ celsius })),
  settling: { windowS: 300, driftMkPerMin: 6, spreadMk: 20, bandK: 0.5, holdS: 60 },
  order: 'symmetric',
  cycles: 3,
})

/** Durability is tested elsewhere; here a disk in memory keeps twenty nights short. */
const MEMORY = '/dev/shm'

export interface Checked {
  seed: number
  thermometer: string
  what: string
  /** Fitted less true, over the expanded uncertainty stated for it. */
  errorOverU: number
}

/** Runs one night on the lab in a box and holds each fit against what only the lab knows. */
export async function checkNight(seed: number, plan = SHORT_NIGHT): Promise<Checked[]> {
  const folder = mkdtempSync(join(existsSync(MEMORY) ? MEMORY : tmpdir(), 'stillpoint-coverage-'))
  const clock = new VirtualClock({ startUtcUs: Date.UTC(2026, 2, 1, 18) * 1000 })
  const hosted = await openHostedStation({ folder, clock, clockKind: 'virtual' })
  const lab = await placeLab(hosted.store, clock, { seed })
  try {
    const accept = hosted.station.preview(plan).checks.map(({ id }) => id)
    await hosted.station.startPlan({ plan, operator: 'test', accept })
    const { session } = await hosted.station.finished
    const file = openSessionFile(hosted.store.sessionPath(session), { mode: 'read' })
    const { thermometers } = analyseSession(file, { monteCarloTrials: 0, coverageProbability: 0.95 })
    file.close()
    return thermometers.flatMap((result): Checked[] => {
      const id = result.record.thermometer.id
      const { curve } = lab.truth.thermometers.get(id)!
      return result.table.map(({ celsius, signal, signalPerK, budget }) => ({
        seed,
        thermometer: id,
        what: `${celsius} °C`,
        errorOverU: (((signal - resistanceOf(curve, celsius)!) / signalPerK) * 1000) / budget.expanded,
      }))
    })
  } finally {
    await hosted.close()
    await lab.close()
    clock.stop()
    rmSync(folder, { recursive: true, force: true })
  }
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
