import { existsSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { entryOf } from '../../../app/base/lists.ts'
import { Plan } from '../../../app/records/plan.ts'
import type { Analysis } from '../../../app/results/analysis.ts'
import { type Publication, publication } from '../../../app/validation/publication.ts'
import type { Lab } from '../../../simulator/lab.ts'
import { resistanceOf } from '../../../simulator/physics/sensors.ts'
import { VirtualClock } from '../../station/clocks/virtual.ts'
import { openSessionFile } from '../../store/session-file.ts'
import { verifySession } from '../../store/verify.ts'
import { analyseSession } from '../../study/report/session-content.ts'
import { placeLab } from '../lab-desk.ts'
import { openHostedStation } from '../open-station.ts'

/** A short night: the settling rule is loose, since what a point needs is a bath that stands still for its own length. */
export const SHORT_NIGHT = Plan.parse({
  id: 'short-night',
  name: 'Short night',
  setpoints: [15, 35, 55, 75, 95].map((celsius) => ({ celsius })),
  settling: { windowS: 300, driftMkPerMin: 6, spreadMk: 20, bandK: 0.5, holdS: 60 },
  order: 'symmetric',
  cycles: 3,
})

/** Durability is tested elsewhere; a disk in memory keeps a night short. */
const MEMORY = '/dev/shm'
const EVENING = Date.UTC(2026, 2, 1, 18) * 1000

/** One row of a fitted thermometer's table, held against what only the lab knows. */
export interface HeldRow {
  readonly thermometer: string
  readonly celsius: number
  /** As fitted, and as it truly is, in the unit of the signal. */
  readonly signal: number
  readonly truth: number
  readonly unit: string
  /** Expanded uncertainty stated for it, in the unit of the signal. */
  readonly expanded: number
}

export interface LabNight {
  readonly rows: readonly HeldRow[]
  readonly ending: string
  readonly points: number
  readonly readings: number
  readonly record: { readonly whole: boolean; readonly words: string }
}

/** Runs one night on the lab in a box: through its sockets, the drivers, the store and the analysis. */
export async function runLabNight(
  seed: number,
  options: { plan?: Plan; onProgress?: (share: number) => void } = {},
): Promise<LabNight> {
  const { plan = SHORT_NIGHT, onProgress } = options
  const folder = mkdtempSync(join(existsSync(MEMORY) ? MEMORY : tmpdir(), 'stillpoint-night-'))
  const clock = new VirtualClock({ startUtcUs: EVENING })
  const hosted = await openHostedStation({ folder, clock, clockKind: 'virtual' })
  const { station, store } = hosted
  const lab = await placeLab(store, clock, { seed })
  try {
    const accept = station.preview(plan).checks.map(({ id }) => id)
    await station.startPlan({ plan, operator: 'lab in a box', accept })
    const listening = station.onDidChange.on(() => {
      const { step, steps } = station.state().runner
      if (step !== null) onProgress?.(step / steps)
    })
    const { session, ending } = await station.finished
    listening.dispose()
    const path = store.sessionPath(session)
    const file = openSessionFile(path, { mode: 'read' })
    try {
      const analysis = analyseSession(file, { monteCarloTrials: 0, coverageProbability: 0.95 })
      const { whole, words, readings } = verifySession(path, { anchors: store.anchors(session) })
      return {
        rows: heldRows(analysis, lab),
        ending,
        points: file.points().length,
        readings,
        record: { whole, words },
      }
    } finally {
      file.close()
    }
  } finally {
    await hosted.close()
    await lab.close()
    clock.stop()
    rmSync(folder, { recursive: true, force: true })
  }
}

function heldRows({ thermometers }: Analysis, lab: Lab): HeldRow[] {
  return thermometers.flatMap((result) => {
    const { id } = result.record.thermometer
    const { curve } = entryOf(lab.truth.thermometers, id)
    return result.table.map(({ celsius, signal, signalPerK, budget }) => ({
      thermometer: id,
      celsius,
      signal,
      truth: resistanceOf(curve, celsius)!,
      unit: 'Ω',
      expanded: Math.abs((budget.expanded / 1000) * signalPerK),
    }))
  })
}

/**
 * A stated uncertainty covers 95 of 100 errors, so one night may well have some beyond it; twice as much is four standard
 * uncertainties, and the root mean square of error over uncertainty, near 0.5, reaches 1 in one night of two thousand.
 */
const MOST_OVER_U = 2
const MOST_RMS = 1

/** What a night shows, as checks beside those of the publications. */
export const nightChecks = (night: LabNight, seed: number): Publication =>
  publication(
    {
      id: 'lab-night',
      source: `A night of the lab in a box, seed ${seed}: five setpoints through its sockets, on a clock that jumps. The lab alone knows the thermometers' true resistances.`,
      standing:
        'The truth is the simulator’s own, which shares no arithmetic with the station: it imports nothing but the forms of the records.',
      notChecked: [],
    },
    (check) => {
      check('the night ends complete and its record is whole', (f) => {
        f.same('ending', night.ending.replace('complete-with-marks', 'complete'), 'complete')
        f.same('points', night.points, SHORT_NIGHT.setpoints.length)
        f.same('record whole', night.record.whole, true)
        f.same('readings recorded', night.readings > 100, true)
      })
      for (const [thermometer, rows] of Map.groupBy(night.rows, (row) => row.thermometer)) {
        check(`${thermometer}: the fit against the true thermometer`, (f) => {
          for (const { celsius, signal, truth, unit, expanded } of rows)
            f.near(`signal at ${celsius} °C`, signal, truth, MOST_OVER_U * expanded, unit)
        })
      }
      check('error over stated uncertainty, all thermometers together', (f) => {
        const sum = night.rows.reduce(
          (s, { signal, truth, expanded }) => s + ((signal - truth) / expanded) ** 2,
          0,
        )
        f.atMost('root mean square of error over U', Math.sqrt(sum / night.rows.length), MOST_RMS)
        f.same('rows looked at', night.rows.length > 20, true)
      })
    },
  )
