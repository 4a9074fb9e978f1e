import { celsiusWords } from '../../app/live/words.ts'
import { said } from '../../app/messages/said.ts'
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
  const ofBath =
    !bath || targetC === null || targetC === bath.safeC
      ? said('computer-ends-bath-nothing', {})
      : bathIsMadeSafe
        ? said('computer-ends-bath-safe', { bath: bath.name, celsius: celsiusWords(bath.safeC) })
        : said('computer-ends-bath-stays', { bath: bath.name, celsius: celsiusWords(targetC) })
  station.alarms.raise({
    key: 'computer-ends',
    kind: 'computer-ends',
    severity: 'alarm',
    subject: bath?.instrument ?? null,
    said: said('computer-ends', { session: run.info.name, bath: ofBath }),
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
