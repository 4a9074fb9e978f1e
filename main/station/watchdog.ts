import { type ChildProcess, spawn } from 'node:child_process'
import type { Disposable } from '../../app/base/clock.ts'
import { at } from '../../app/base/lists.ts'
import type { StationLog } from './log.ts'
import type { Pulse } from './pulse.ts'

/**
 * How Node starts a core that is looked after: what is made and thrown away is collected after 2 MB of it, and what is kept may grow by
 * three tenths before it is gone through again. Left to itself V8 lets 32 MB gather twice over and what is kept nearly double: a
 * station of 96 channels at ten readings a second holds 205 to 275 MB then, 190 to 225 MB so. A report of 95 items takes 4 % longer.
 */
export const CORE_FLAGS: readonly string[] = ['--max-semi-space-size=2', '--heap-growing-percent=30']

const BEAT_MS = 2_000

/** What a core sends to whoever looks after it. */
export interface Beat extends Pulse {
  readonly beat: number
}

/** Set for a core that is looked after: its other parents would not know what to do with a beat. */
const WATCHED = 'STILLPOINT_WATCHED'

/**
 * In the core: tells the watchdog every two seconds that the event loop still turns, and how long ago something was stored.
 * A core without a watchdog tells nobody.
 */
export function startBeating(pulse: () => Pulse, everyMs = BEAT_MS): Disposable {
  if (process.env[WATCHED] !== '1' || process.send === undefined) return { dispose: () => {} }
  let count = 0
  const timer = setInterval(() => {
    count += 1
    process.send?.({ beat: count, ...pulse() } satisfies Beat)
  }, everyMs)
  timer.unref()
  return { dispose: () => clearInterval(timer) }
}

export interface SuperviseOptions {
  readonly command: string
  readonly args: readonly string[]
  readonly log: StationLog
  /** Without a beat for this long the core counts as hung and is killed. */
  readonly hungAfterMs?: number
  /** Pauses before a restart, growing; the last repeats. A core that ran longer than `steadyAfterMs` starts from the first. */
  readonly pausesMs?: readonly number[]
  readonly steadyAfterMs?: number
  readonly onStart?: (child: ChildProcess, restarts: number) => void
}

const PAUSES_MS = [500, 2_000, 10_000, 30_000]

/**
 * Keeps a core running: started again when it crashes, killed and started again when it hangs or when readings that are due
 * stay away. Resolves with the exit code
 * when it ends by itself with 0 or 2 (bad arguments), or after `stop`.
 */
export function superviseCore(options: SuperviseOptions): { ended: Promise<number>; stop(): void } {
  const { hungAfterMs = 30_000, pausesMs = PAUSES_MS, steadyAfterMs = 60_000, log } = options
  let child: ChildProcess | undefined
  let stopped = false
  let restarts = 0
  let shortLives = 0
  let wake: (() => void) | undefined

  const live = (): Promise<number> =>
    new Promise((resolve) => {
      const core = spawn(options.command, options.args, { stdio: ['inherit', 'inherit', 'inherit', 'ipc'] })
      child = core
      let lastBeat = performance.now()
      const look = setInterval(
        () => {
          const silentMs = performance.now() - lastBeat
          if (silentMs < hungAfterMs) return
          log.error({ silentMs: Math.round(silentMs) }, 'the core hangs and is killed')
          core.kill('SIGKILL')
        },
        Math.min(1_000, hungAfterMs / 4),
      )
      core.on('message', (message) => {
        lastBeat = performance.now()
        const { silentS = 0, allowedS = 0 } = message as Partial<Beat>
        if (silentS <= allowedS) return
        log.error({ silentS: Math.round(silentS), allowedS }, 'the core stores no readings and is killed')
        core.kill('SIGKILL')
      })
      core.on('error', (fault) => log.error({ fault }, 'the core could not be started'))
      core.on('close', (code, signal) => {
        clearInterval(look)
        resolve(code ?? (signal === null ? 1 : 128))
      })
      options.onStart?.(core, restarts)
    })

  const run = async (): Promise<number> => {
    for (;;) {
      const born = performance.now()
      const code = await live()
      if (stopped || code === 0 || code === 2) return code
      shortLives = performance.now() - born < steadyAfterMs ? shortLives + 1 : 0
      const pauseMs = at(pausesMs, Math.min(shortLives, pausesMs.length - 1))
      restarts += 1
      log.error({ code, restarts, pauseMs }, 'the core ended and is started again')
      await new Promise<void>((resolve) => {
        const timer = setTimeout(resolve, pauseMs)
        wake = () => {
          clearTimeout(timer)
          resolve()
        }
      })
      if (stopped) return code
    }
  }
  return {
    ended: run(),
    stop() {
      stopped = true
      wake?.()
      // Windows would end it unheard; there a message asks.
      if (process.platform === 'win32' && child?.connected) child.send({ stop: true })
      else child?.kill('SIGTERM')
    },
  }
}
