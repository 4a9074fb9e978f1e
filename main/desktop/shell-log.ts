import { appendFileSync, mkdirSync, statSync } from 'node:fs'
import { join } from 'node:path'
import { renameWhole } from '../store/rename-whole.ts'

/** A new file is begun at this size; the one before is kept beside it. */
const MOST_BYTES = 1_000_000

/**
 * The shell's own log: what it says before a core runs, and of cores that end, has no other place in a packaged program,
 * whose output nobody sees. Never throws: a full disk must not keep the window from opening.
 */
export function openShellLog(folder: string, mostBytes = MOST_BYTES): (words: string) => void {
  const file = join(folder, 'shell.log')
  try {
    mkdirSync(folder, { recursive: true, mode: 0o700 })
  } catch {
    // The first line that cannot be written says so on the console.
  }
  return (words) => {
    console.log(words)
    try {
      if ((statSync(file, { throwIfNoEntry: false })?.size ?? 0) > mostBytes)
        renameWhole(file, join(folder, 'shell.1.log'))
      appendFileSync(file, `${new Date().toISOString()} ${words}\n`, { mode: 0o600 })
    } catch (fault) {
      console.log(`the shell's log cannot be written: ${(fault as Error).message}`)
    }
  }
}
