import { constants, copyFileSync, existsSync, mkdirSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { Register } from '../../app/records/register.ts'
import { CELL_SUBSTANCES, type CellSubstance, fixedPoint } from '../../simulator/scenarios/fixed-point.ts'
import { SCENARIOS } from '../../simulator/scenarios/index.ts'
import type { Scenario } from '../../simulator/scenarios/scenario.ts'
import { VirtualClock } from '../station/clocks/virtual.ts'
import { sessionFilePath } from '../store/session-list.ts'
import { placeLab } from './lab-desk.ts'
import { recordingHours } from './lab-night.ts'
import { openHostedStation } from './open-station.ts'

/** What the lab in a box can record for somebody who practises. */
export type PracticeKind = 'cells' | 'bridge'

export interface PracticeSessions {
  readonly sessions: readonly string[]
  /** Records of what was measured, as the laboratory has them. */
  readonly register: Register
}

const DAY_US = 86_400e6
const OPERATOR = 'Lab in a box'
const CELL_NAMES: Readonly<Record<CellSubstance, string>> = {
  H2O: 'Water triple point',
  Ga: 'Gallium',
  In: 'Indium',
  Sn: 'Tin',
  Zn: 'Zinc',
}

interface Night {
  readonly name: string
  readonly scenario: Scenario
}

function nightsOf(kind: PracticeKind, cells: readonly CellSubstance[]): Night[] {
  if (kind === 'bridge') {
    const name = 'Bridge and resistors, practice'
    return [{ name, scenario: SCENARIOS['bridge-check'] }]
  }
  return cells.map((substance) => ({
    name: `${CELL_NAMES[substance]} cell, practice`,
    scenario: fixedPoint(substance),
  }))
}

/**
 * Records what the lab in a box does with its cells, or with its resistors, on a clock that jumps, and puts the sessions
 * into a data folder: one a day, the last of them yesterday. The same seed is the same laboratory in all of them.
 */
export async function recordPractice(
  kind: PracticeKind,
  options: { seed: number; folder: string; nowUtcUs: number; cells?: readonly CellSubstance[] },
): Promise<PracticeSessions> {
  const { seed, folder, nowUtcUs, cells = CELL_SUBSTANCES } = options
  const nights = nightsOf(kind, cells)
  const sessions: string[] = []
  let register: Register = Register.parse({})
  for (const [i, night] of nights.entries()) {
    const done = await recordNight(night, seed, nowUtcUs - (nights.length - i) * DAY_US, folder)
    sessions.push(done.session)
    register = merged(register, done.register)
  }
  return { sessions, register }
}

/** Records of both; those of the first where both have one. */
function merged(a: Register, b: Register): Register {
  const both = <T extends { id: string }>(own: T[], more: T[]) => [
    ...own,
    ...more.filter(({ id }) => !own.some((entry) => entry.id === id)),
  ]
  return {
    thermometers: both(a.thermometers, b.thermometers),
    resistors: both(a.resistors, b.resistors),
    instruments: both(a.instruments, b.instruments),
    fluids: both(a.fluids, b.fluids),
    ...((a.baths ?? b.baths) && { baths: both(a.baths ?? [], b.baths ?? []) }),
  }
}

/** Sessions are named by the minute they began in; one that is there already is never written over. */
const APART_US = 120e6

async function recordNight(
  night: Night,
  seed: number,
  startUtcUs: number,
  target: string,
): Promise<{ session: string; register: Register }> {
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-practice-'))
  const clock = new VirtualClock({ startUtcUs })
  try {
    const { session, register, path } = await runNight(night, seed, clock, folder)
    const to = sessionFilePath(target, session)
    if (existsSync(to)) return await recordNight(night, seed, startUtcUs + APART_US, target)
    mkdirSync(dirname(to), { recursive: true })
    copyFileSync(path, to, constants.COPYFILE_EXCL)
    return { session, register }
  } finally {
    clock.stop()
    rmSync(folder, { recursive: true, force: true })
  }
}

async function runNight(
  { name, scenario }: Night,
  seed: number,
  clock: VirtualClock,
  folder: string,
): Promise<{ session: string; register: Register; path: string }> {
  const hosted = await openHostedStation({ folder, clock, clockKind: 'virtual' })
  const { station, store } = hosted
  const lab = await placeLab(store, clock, { seed, scenario })
  try {
    await station.open()
    station.chooseBench(lab.bench.id, OPERATOR)
    const session = await station.record({ operator: OPERATOR, name })
    await clock.sleep(recordingHours(scenario)! * 3_600_000)
    station.stop(OPERATOR)
    await station.finished
    return { session, register: store.register(), path: store.sessionPath(session) }
  } finally {
    await hosted.close()
    await lab.close()
  }
}
