import { type ChildProcess, fork } from 'node:child_process'
import { fileURLToPath } from 'node:url'
import type { Clock, Disposable } from '../../app/base/clock.ts'
import type { VisaAsk, VisaTold } from '../../app/buses/visa.ts'
import { said } from '../../app/messages/said.ts'
import { WireFault } from './wire.ts'

/** The process that holds the library. */
const SCRIPT = fileURLToPath(new URL('./visa-process.ts', import.meta.url))
/** How long a process that was asked to end may take for it, real ms. */
const END_MS = 2000

/** One VISA library in a process of its own. */
export class VisaPeer {
  readonly #clock: Clock
  readonly #ended: (fault: WireFault) => void
  readonly #child: ChildProcess
  #id = 0
  #waiting: { id: number; done: (told: VisaTold | undefined) => void; deadline: Disposable } | undefined
  #over = false

  /** `ended` is told once when the process is gone without having been asked to go. */
  constructor(clock: Clock, ended: (fault: WireFault) => void) {
    if (process.versions.electron !== undefined) {
      const how = 'Run the station as a service or with "stillpoint start" for this link.'
      throw new WireFault('refused', said('desktop-without-visa', { how }))
    }
    this.#clock = clock
    this.#ended = ended
    this.#child = fork(SCRIPT, { serialization: 'advanced', stdio: ['ignore', 'ignore', 'inherit', 'ipc'] })
    this.#child.on('message', ({ id, told }: { id: number; told: VisaTold }) => {
      if (this.#waiting?.id === id) this.#waiting.done(told)
    })
    this.#child.once('error', ({ message }) => this.#finish(`could not be started: ${message}`))
    this.#child.once('exit', (code, signal) => this.#finish(`ended by itself (${signal ?? code})`))
  }

  get pid(): number | undefined {
    return this.#child.pid
  }

  /** Asks the library; where it does not come back in time its process is ended. Rejects with a WireFault then. */
  async ask(ask: VisaAsk, withinMs: number): Promise<VisaTold> {
    if (this.#over) throw new WireFault('lost', said('visa-process-gone', {}))
    const id = ++this.#id
    const told = await new Promise<VisaTold | undefined>((resolve) => {
      const done = (answer: VisaTold | undefined) => {
        this.#waiting?.deadline.dispose()
        this.#waiting = undefined
        resolve(answer)
      }
      const hangs = () =>
        this.#finish(`does not come back from "${ask.ask}" within ${withinMs / 1000} s, and was ended`)
      this.#waiting = { id, done, deadline: this.#clock.after(withinMs, hangs) }
      this.#child.send({ id, ask }, (error) => {
        if (error !== null) this.#finish(`cannot be reached: ${error.message}`)
      })
    })
    if (told === undefined) throw new WireFault('lost', said('visa-process-gone', {}))
    return told
  }

  /** Closes what is open and ends the process; one that does not end is ended. */
  close(): void {
    if (this.#over) return
    this.#over = true
    this.#waiting?.done(undefined)
    const child = this.#child
    child.send({ id: 0, ask: { ask: 'close' } satisfies VisaAsk }, () => undefined)
    // The library lives in real time.
    const force = setTimeout(() => child.kill('SIGKILL'), END_MS)
    child.once('exit', () => clearTimeout(force))
  }

  #finish(words: string): void {
    if (this.#over) return
    this.#over = true
    this.#child.kill('SIGKILL')
    this.#waiting?.done(undefined)
    this.#ended(new WireFault('lost', said('visa-process-trouble', { words })))
  }
}
