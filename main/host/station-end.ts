import { celsiusWords } from '../../app/live/words.ts'
import { tellOfShutdown } from '../station/before-shutdown.ts'
import type { HostedStation } from './open-station.ts'
import type { Services } from './services.ts'

const TELL_MS = 2_000

/** What is still being done before the station can end. */
export function leavingWords({ station }: HostedStation): string {
  const run = station.session
  if (!run) return 'the station closes its records'
  const { bathC } = station.state().runner
  const safeC = run.setup.bench.bath?.safeC
  const bath =
    bathC === null || safeC === undefined
      ? ''
      : ` The bath reads ${celsiusWords(bathC)}, safe is ${celsiusWords(safeC)}.`
  return `${station.state().runner.words}${bath}`
}

export interface StationEnd {
  /** For the record of a session that stays open. */
  readonly why: string
  /** The computer is being shut down. */
  readonly shutdown?: boolean
  /** Lets go of what is served to others, when the session has ended and before the records close. */
  readonly beforeClose?: () => Promise<void>
  /** Told over and over while it lasts. */
  readonly onLeaving?: (words: string) => void
}

/**
 * Ends a station in order. A session that is being stopped safely is let finish, however long its bath takes; any other
 * stays open and is taken up at the next start.
 */
export async function endStation(
  hosted: HostedStation,
  services: Services,
  { why, shutdown = false, onLeaving, beforeClose }: StationEnd,
): Promise<void> {
  const { station } = hosted
  const telling = onLeaving && setInterval(() => onLeaving(leavingWords(hosted)), TELL_MS)
  onLeaving?.(leavingWords(hosted))
  try {
    const told = shutdown && tellOfShutdown(station, services.settings().bathWhenEnded === 'safe')
    if (!shutdown && station.session && isEnding(station.state().runner.phase)) await station.finished
    await station.depart(why)
    await told
    await beforeClose?.()
    await services.close()
    await hosted.close()
  } finally {
    clearInterval(telling)
  }
}

const isEnding = (phase: string | null) => phase === 'stopping' || phase === 'finishing'

/** Stops the open session safely where there is one. */
export function stopSafely({ station }: HostedStation, who: string, why: string): void {
  if (station.session && !isEnding(station.state().runner.phase)) station.stop(who, why)
}
