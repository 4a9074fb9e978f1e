import type { UtilityProcess } from 'electron'

/** Ends a utility process now, and for sure: one that still stands after `afterMs` is ended by the system. */
export function endForSure(child: UtilityProcess, afterMs: number): void {
  const { pid } = child
  const reap = setTimeout(() => {
    try {
      if (pid !== undefined) process.kill(pid, 'SIGKILL')
    } catch {
      // It has just gone.
    }
  }, afterMs)
  child.once('exit', () => clearTimeout(reap))
  child.kill()
}
