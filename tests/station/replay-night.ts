import { copyFileSync, mkdtempSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { StationState } from '../../app/contract/views.ts'
import type { Plan } from '../../app/records/plan.ts'
import type { Station } from '../../main/station/station.ts'
import { type Box, type BoxOptions, openBox } from './box.ts'

/** What the station showed at one moment of its session. */
export interface Shown {
  readonly monoUs: number
  readonly state: StationState
}

/** A night that has ended: a copy of its file, and what was shown while it ran. */
export interface Recorded {
  readonly path: string
  readonly folder: string
  readonly id: string
  readonly shown: readonly Shown[]
}

/** Notes the state shown after every so many stored readings. */
export function watchShown(station: Station, shown: Shown[], every: number): void {
  const run = station.session!
  let count = 0
  run.recorder.onDidStore.on(() => {
    count += 1
    if (count % every === 0) shown.push({ monoUs: run.recorder.now().monoUs, state: station.state() })
  })
}

/** Runs a plan on the lab in a box and keeps its file. `act` runs beside it. */
export async function recordNight(
  plan: Plan,
  options: BoxOptions & { every?: number; prepare?: (box: Box) => void } = {},
  act?: (box: Box, shown: Shown[]) => Promise<void>,
): Promise<Recorded> {
  const box = await openBox(options)
  try {
    options.prepare?.(box)
    const accept = box.station.preview(plan).checks.map((c) => c.id)
    const id = await box.station.startPlan({ plan, operator: 'Test', accept })
    const shown: Shown[] = []
    watchShown(box.station, shown, options.every ?? 7)
    await act?.(box, shown)
    await box.station.finished
    const folder = mkdtempSync(join(tmpdir(), 'stillpoint-replay-'))
    const path = join(folder, 'night.stillpoint')
    copyFileSync(box.store.sessionPath(id), path)
    return { path, folder, id, shown }
  } finally {
    await box.close()
  }
}
