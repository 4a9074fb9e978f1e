import { spawn, spawnSync } from 'node:child_process'
import { existsSync } from 'node:fs'

/** About 110 MB: a quarter of an hour at one megabit a second. */
const FETCH_MS = 900_000
/** What Chromium says before it aborts where the system lets it have no sandbox. */
const NO_SANDBOX = /SUID sandbox helper|No usable sandbox|sandbox_host_linux|zygote_host_impl/i
const ENDED_BY_TRAP = [133, 134, 139]

/** Runs Electron's own installer once, with what it says in the open. Returns why it failed, or undefined. */
export function fetchElectron(installer: string): string | undefined {
  if (!existsSync(installer)) return 'it is not installed'
  console.log("Fetching Electron's binary, about 110 MB; this is done once.")
  const { status, stderr, error } = spawnSync(process.execPath, [installer], {
    stdio: ['ignore', 'inherit', 'pipe'],
    encoding: 'utf8',
    timeout: FETCH_MS,
  })
  if (status === 0) return undefined
  return (error?.message ?? stderr.trim().split('\n')[0] ?? '') || `its installer ended with ${status}`
}

/**
 * Runs the desktop program until it ends. Resolves with its exit status, or with 'no-sandbox' where the system keeps
 * Chromium from making its sandbox, as Ubuntu does since 23.10 for programs without an AppArmor profile; it is never
 * switched off.
 */
export function runElectron(program: string, args: readonly string[]): Promise<number | 'no-sandbox'> {
  const child = spawn(program, args, { stdio: ['inherit', 'inherit', 'pipe'] })
  let refused = false
  child.stderr.on('data', (text) => {
    refused ||= NO_SANDBOX.test(String(text))
    process.stderr.write(text)
  })
  return new Promise((resolve) => {
    child.on('error', () => resolve(1))
    child.on('close', (code, signal) => {
      const trapped = signal !== null || ENDED_BY_TRAP.includes(code ?? 0)
      resolve(refused && trapped ? 'no-sandbox' : (code ?? 1))
    })
  })
}
