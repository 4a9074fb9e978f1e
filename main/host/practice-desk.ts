import { counted } from '../../app/base/plural.ts'
import { said } from '../../app/messages/said.ts'
import { StationError } from '../station/station-error.ts'
import type { Kind } from '../store/records/kinds.ts'
import { openSessionFile } from '../store/session-file.ts'
import { WorkerPool, workerScript } from '../store/worker-pool.ts'
import type { PracticeKind, PracticeSessions } from './practice.ts'
import type { PracticeTasks } from './practice-tasks.ts'
import type { Services } from './services.ts'

/**
 * Has the lab in a box record sessions to practise on and files them here, with the records of what they measured where the
 * register has none of that id. Returns what was done, in words. Throws StationError 'refused' while a session runs: the
 * recording takes all of one processor.
 */
export async function practise(services: Services, what: PracticeKind, seed: number): Promise<string> {
  const { store, station, clock } = services
  if (station.session) {
    throw new StationError('refused', said('practise-while-running', {}))
  }
  const made = await recordedAside(what, { seed, folder: services.folder, nowUtcUs: clock.now().utcUs })
  const why = `sessions to practise on, lab in a box, seed ${seed}`
  const who = 'lab in a box'
  const fresh = <T extends { id: string }>(kind: Kind, entries: readonly T[]) =>
    entries.filter(({ id }) => !store.records.one(kind, id)).map((value) => ({ kind, value }))
  const { thermometers, resistors, instruments } = made.register
  store.records.saveAll(
    [
      ...fresh('thermometer', thermometers),
      ...fresh('resistor', resistors),
      ...fresh('instrument', instruments),
    ],
    { who, why },
  )
  for (const session of made.sessions) {
    const file = openSessionFile(store.sessionPath(session), { mode: 'read' })
    try {
      store.registerSession(file)
    } finally {
      file.close()
    }
  }
  for (const changed of ['register', 'sessions'] as const) station.touched(changed)
  const count = made.sessions.length
  return `${counted(count, 'session is', 'sessions are')} in the archive to practise on, with the records of what they measured in the register.`
}

/** In a thread of its own: reports must not wait for it. */
async function recordedAside(
  what: PracticeKind,
  options: { seed: number; folder: string; nowUtcUs: number },
): Promise<PracticeSessions> {
  const thread = new WorkerPool<PracticeTasks>({ script: workerScript('practice-worker', import.meta.url) })
  try {
    return await thread.ask().practise(what, options)
  } finally {
    await thread.close()
  }
}
