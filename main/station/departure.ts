import type { Clock } from '../../app/base/clock.ts'
import type { Settings } from '../../app/contract/settings.ts'
import { celsiusWords } from '../../app/live/words.ts'
import type { SessionRun } from './session-run.ts'

/** How long a bath is given to confirm its safe setpoint while the process is being ended, ms. Whoever ends it may kill it after. */
const PATIENCE_MS = 4_000

/**
 * What is done and written down when the station is asked to end in the middle of a session: the session stays open, to be
 * taken up by the next start, and the bath is left or brought to safety as the settings say. The runner has let go before.
 */
export async function depart(
  run: SessionRun,
  why: string,
  bathWhenEnded: Settings['bathWhenEnded'],
  clock: Clock,
): Promise<void> {
  const { keeper, recorder, setup } = run
  const phase = run.runner?.state.phase
  const under = phase === undefined ? 'while it recorded' : `while the plan was ${phase}`
  let words = `The station was asked to end (${why}) ${under}. The session stays open.`
  const { bath } = setup.bench
  if (bath && keeper) {
    if (bathWhenEnded === 'safe') {
      const patience = new AbortController()
      const over = clock.after(PATIENCE_MS, () => patience.abort(new Error('the station cannot wait longer')))
      const confirmed = await keeper.toSafe(patience.signal).catch(() => false)
      over.dispose()
      words += confirmed
        ? ` ${bath.name} is set to its safe setpoint, ${celsiusWords(bath.safeC)}.`
        : ` ${bath.name} did not confirm its safe setpoint of ${celsiusWords(bath.safeC)}: go and look.`
    } else if (keeper.targetC !== null) {
      words += ` ${bath.name} stays at ${celsiusWords(keeper.targetC)}, as the settings say.`
    } else words += ` ${bath.name} was not touched.`
  } else if (bath) words += ` ${bath.name} is set by hand and stays as it is.`
  recorder.tell({ kind: 'plan-step', words, data: { asked: why, bath: bathWhenEnded } })
}
