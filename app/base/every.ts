import type { Clock, Disposable } from './clock.ts'

/**
 * Looks again and again, `ms` of the clock's time apart, the first time after one such span. The next look is set before
 * this one, so that what a look throws does not end the looking. Disposing ends it.
 */
export function every(clock: Clock, ms: number, look: () => void): Disposable {
  let timer: Disposable
  const next = () => {
    timer = clock.after(ms, next)
    look()
  }
  timer = clock.after(ms, next)
  return { dispose: () => timer.dispose() }
}
