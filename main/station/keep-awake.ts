import { spawn } from 'node:child_process'
import type { Disposable } from '../../app/base/clock.ts'
import type { StationLog } from './log.ts'

/** Tells Windows that the system is needed, for as long as its input stays open. */
const WINDOWS_SCRIPT = `
$ErrorActionPreference = 'Stop'
$t = Add-Type -PassThru -Name Power -Namespace Stillpoint -MemberDefinition '[DllImport("kernel32.dll")] public static extern uint SetThreadExecutionState(uint f);'
if ($t::SetThreadExecutionState([uint32]"0x80000001") -eq 0) { exit 1 }
[void][Console]::In.ReadLine()`

/** What keeps each system awake. All end by themselves when their input is closed, so also when the core is killed. */
export function awakeCommand(platform: NodeJS.Platform, pid: number): readonly string[] | undefined {
  switch (platform) {
    case 'linux':
      return [
        'systemd-inhibit',
        '--what=sleep:idle',
        '--who=Stillpoint',
        '--why=A session runs',
        '--mode=block',
        'cat',
      ]
    case 'darwin':
      return ['caffeinate', '-i', '-w', String(pid)]
    case 'win32':
      return ['powershell', '-NoProfile', '-NonInteractive', '-Command', WINDOWS_SCRIPT]
    default:
      return undefined
  }
}

/**
 * Keeps the computer from going to sleep until disposed. Where the system has no way, or forbids it, the log says so and
 * the session runs all the same: a sleep is then found by the step of the clock and marked.
 */
export function keepAwake(
  log: StationLog,
  command = awakeCommand(process.platform, process.pid),
): Disposable {
  const [program, ...args] = command ?? []
  if (program === undefined) {
    log.warn('no way to keep this system awake is known; switch its sleep off')
    return { dispose: () => {} }
  }
  let ended = false
  const holder = spawn(program, args, { stdio: ['pipe', 'ignore', 'ignore'], windowsHide: true })
  const failed = (words: string) => {
    if (!ended)
      log.warn({ words }, 'the computer may go to sleep while the session runs; switch its sleep off')
    ended = true
  }
  holder.on('error', (fault) => failed(fault.message))
  holder.on('exit', (code) => failed(`${program} ended with ${code}`))
  // The pipe breaks when the holder ends first, which has been told by then.
  holder.stdin.on('error', () => {})
  holder.unref()
  return {
    dispose: () => {
      ended = true
      holder.stdin.end()
      holder.kill()
    },
  }
}
