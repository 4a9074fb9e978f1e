import { type ChildProcess, spawn } from 'node:child_process'
import { closeSync, constants, existsSync, openSync, rmSync } from 'node:fs'
import { setTimeout as realSleep } from 'node:timers/promises'
import type { Clock } from '../../app/base/clock.ts'

const APPEARS_WITHIN_MS = 5000

type SerialErrorCode = 'no-socat' | 'no-terminal'

class SerialPairError extends Error {
  readonly code: SerialErrorCode
  constructor(code: SerialErrorCode, sentence: string, options?: ErrorOptions) {
    super(sentence, options)
    this.name = 'SerialPairError'
    this.code = code
  }
}

/**
 * A pseudo-terminal joined to an instrument's TCP port by socat: the far end of a serial cable. Another process lives
 * in real time, so its waits are real ones whatever clock the lab runs on, and a clock that jumps is told what is in the
 * cable.
 */
export class SerialPair {
  readonly path: string
  #child: ChildProcess | undefined
  #held: number | undefined
  #wanted = false
  readonly #clock: Clock

  constructor(path: string, clock: Clock) {
    this.path = path
    this.#clock = clock
  }

  /** The instrument's end: so many bytes were written into the cable, or came out of it. */
  left(count: number): void {
    this.#clock.freight?.left(this.path, 'station', count)
  }

  came(count: number): void {
    this.#clock.freight?.came(this.path, 'instrument', count)
  }

  /** Joins the terminal to a TCP port, and joins it again whenever the connection breaks, until stopped. */
  async start(host: string, port: number): Promise<void> {
    this.#wanted = true
    await this.#join(host, port)
  }

  async stop(): Promise<void> {
    this.#wanted = false
    const child = this.#child
    this.#letGo()
    if (child && child.exitCode === null && child.signalCode === null) {
      const gone = new Promise((resolve) => child.once('exit', resolve))
      child.kill('SIGTERM')
      await gone
    }
    rmSync(this.path, { force: true })
  }

  async #join(host: string, port: number): Promise<void> {
    const child = spawn('socat', [`PTY,link=${this.path},raw,echo=0`, `TCP:${host}:${port},nodelay`], {
      stdio: 'ignore',
    })
    this.#child = child
    let failure: Error | undefined
    child.once('error', (error) => {
      failure = error
    })
    child.once('exit', () => {
      if (this.#child !== child) return
      this.#letGo()
      if (this.#wanted) void this.#joinAgain(host, port)
    })
    const deadline = Date.now() + APPEARS_WITHIN_MS
    while (!existsSync(this.path)) {
      if (failure) {
        throw new SerialPairError('no-socat', 'serial ports need socat; install it or leave --serial out', {
          cause: failure,
        })
      }
      if (!this.#wanted || this.#child !== child) return
      if (Date.now() > deadline)
        throw new SerialPairError('no-terminal', `no terminal appeared at ${this.path}`)
      await realSleep(5)
    }
    // Held open and never read: the terminal outlives the station's own opening and closing, as a cable does.
    this.#held = openSync(this.path, constants.O_RDWR | constants.O_NOCTTY | constants.O_NONBLOCK)
  }

  async #joinAgain(host: string, port: number): Promise<void> {
    await realSleep(50)
    if (!this.#wanted) return
    await this.#join(host, port).catch(() => {
      if (this.#wanted) void this.#joinAgain(host, port)
    })
  }

  #letGo(): void {
    this.#child = undefined
    if (this.#held !== undefined) closeSync(this.#held)
    this.#held = undefined
  }
}
