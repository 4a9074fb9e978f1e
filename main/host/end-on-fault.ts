import type { HostedStation } from './open-station.ts'

/** Whatever does not close within this is left as it is on disk, where every commit is whole, ms. */
const PATIENCE_MS = 700

/**
 * An exception or a rejection that nobody caught: its reason goes into the log and to standard error, the station is closed
 * as it stands, and the process ends within a second, so that whoever looks after it starts another. Faults of the way out
 * itself change nothing any more.
 */
export function endOnFault({
  log,
  flushLog,
  close,
}: Pick<HostedStation, 'log' | 'flushLog' | 'close'>): void {
  let ending = false
  const fail = (fault: unknown) => {
    if (ending) return
    ending = true
    setTimeout(() => process.exit(1), PATIENCE_MS)
    try {
      console.error('The station ends on a fault:', fault)
      log.error({ fault }, 'the station ends on a fault')
      flushLog()
    } catch {
      // A log that cannot be written keeps nothing from ending.
    }
    close().then(
      () => process.exit(1),
      () => process.exit(1),
    )
  }
  process.on('uncaughtException', fail)
  process.on('unhandledRejection', fail)
}
