import type { Clock, StopSignal } from '../../../app/base/clock.ts'

/** A wait on any clock that an abort ends at once. */
export function sleepOn(clock: Clock, ms: number, signal?: StopSignal): Promise<void> {
  return new Promise((resolve, reject) => {
    if (signal?.aborted) {
      reject(signal.reason)
      return
    }
    const onAbort = () => {
      timer.dispose()
      reject(signal?.reason)
    }
    const timer = clock.after(ms, () => {
      signal?.removeEventListener('abort', onAbort)
      resolve()
    })
    signal?.addEventListener('abort', onAbort)
  })
}
