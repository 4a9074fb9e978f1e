import { celsiusWords } from '../../app/live/words.ts'
import type { Station } from './station.ts'

/** Longest that a shutdown is held up for the message to people, ms. */
const MOST_MS = 10_000

/**
 * The computer is being shut down in the middle of a session: people are told at once and not with the next group, since
 * nobody will look after the bath until it runs again. What becomes of the bath itself is `Station.depart`. Never throws.
 */
export async function tellOfShutdown(
  station: Station,
  bathIsMadeSafe: boolean,
  mostMs = MOST_MS,
): Promise<void> {
  const run = station.session
  if (!run) return
  const { bath } = run.setup.bench
  const targetC = run.keeper?.targetC ?? null
  const words =
    !bath || targetC === null || targetC === bath.safeC
      ? ''
      : bathIsMadeSafe
        ? ` ${bath.name} is sent to its safe setpoint of ${celsiusWords(bath.safeC)}.`
        : ` ${bath.name} stays at ${celsiusWords(targetC)} and nobody looks after it until the computer runs again.`
  station.alarms.raise({
    key: 'computer-ends',
    kind: 'computer-ends',
    severity: 'alarm',
    subject: bath?.instrument ?? null,
    words: `The computer is being shut down or restarted while session ${run.info.name} runs.${words}`,
  })
  let patience: NodeJS.Timeout | undefined
  await Promise.race([
    station.post.now().catch(() => undefined),
    new Promise((resolve) => {
      patience = setTimeout(resolve, mostMs)
    }),
  ])
  clearTimeout(patience)
}
