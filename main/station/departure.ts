import type { Clock } from '../../app/base/clock.ts'
import type { Settings } from '../../app/contract/settings.ts'
import { celsiusWords } from '../../app/live/words.ts'
import { type Said, said } from '../../app/messages/said.ts'
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
  const { bath } = setup.bench
  let left: Said = said('no-bath-to-leave', {})
  if (bath && keeper) {
    if (bathWhenEnded === 'safe') {
      const patience = new AbortController()
      const over = clock.after(PATIENCE_MS, () => patience.abort(new Error('the station cannot wait longer')))
      const confirmed = await keeper.toSafe(patience.signal).catch(() => false)
      over.dispose()
      left = said(confirmed ? 'bath-left-safe' : 'bath-left-unconfirmed', {
        bath: bath.name,
        celsius: celsiusWords(bath.safeC),
      })
    } else if (keeper.targetC !== null) {
      left = said('bath-left-at', { bath: bath.name, celsius: celsiusWords(keeper.targetC) })
    } else left = said('bath-left-untouched', { bath: bath.name })
  } else if (bath) left = said('bath-left-by-hand', { bath: bath.name })
  const told =
    phase === undefined
      ? said('asked-to-end-recording', { why, bath: left })
      : said('asked-to-end', { why, phase, bath: left })
  recorder.tell({ kind: 'plan-step', said: told, data: { asked: why, bath: bathWhenEnded } })
}
