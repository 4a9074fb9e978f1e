import { fork } from 'node:child_process'
import { fileURLToPath } from 'node:url'
import type { Clock, Disposable } from '../../app/base/clock.ts'
import type { VisaAsk, VisaTold } from '../../app/buses/visa.ts'
import { said } from '../../app/messages/said.ts'
import { WireFault } from './wire.ts'

/** The process that holds the library. */
const SCRIPT = fileURLToPath(new URL('./visa-process.ts', import.meta.url))
/** How long a process that was asked to end may take for it, real ms. */
const END_MS = 2000

/** What is asked of the process, and what it answers, by number. */
export interface VisaQuestion {
  readonly id: number
  readonly ask: VisaAsk
}
export interface VisaAnswer {
  readonly id: number
  readonly told: VisaTold
}

/** A process that holds a library, however it was started. */
export interface VisaChild {
  readonly pid: number | undefined
  send(question: VisaQuestion): void
  /** Ends it at once, whatever its library does. */
  kill(): void
}

/** Starts such a process. `ended` comes once, with how it ended or why it could not be started or reached. */
export type StartVisa = (events: { answer(given: VisaAnswer): void; ended(how: string): void }) => VisaChild

const forked: StartVisa = ({ answer, ended }) => {
  const child = fork(SCRIPT, { serialization: 'advanced', stdio: ['ignore', 'ignore', 'inherit', 'ipc'] })
  child.on('message', answer)
  child.once('error', ({ message }) => ended(`could not be started: ${message}`))
  child.once('exit', (code, signal) => ended(`ended by itself (${signal ?? code})`))
  return {
    get pid() {
      return child.pid
    },
    send: (question) =>
      void child.send(question, (error) => {
        if (error !== null) ended(`cannot be reached: ${error.message}`)
      }),
    kill: () => void child.kill('SIGKILL'),
  }
}

let start: StartVisa = forked

/** Where this program may not fork itself, another starts the processes: on the desktop the shell does. */
export function startVisaBy(other: StartVisa): void {
  start = other
}

/** One VISA library in a process of its own. */
export class VisaPeer {
  readonly #clock: Clock
  readonly #ended: (fault: WireFault) => void
  readonly #child: VisaChild
  #id = 0
  #waiting: { id: number; done: (told: VisaTold | undefined) => void; deadline: Disposable } | undefined
  #over = false
  #gone: () => void = () => undefined

  /** `ended` is told once when the process is gone without having been asked to go. */
  constructor(clock: Clock, ended: (fault: WireFault) => void) {
    this.#clock = clock
    this.#ended = ended
    this.#child = start({
      answer: ({ id, told }) => {
        if (this.#waiting?.id === id) this.#waiting.done(told)
      },
      ended: (how) => {
        this.#gone()
        this.#finish(how)
      },
    })
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
      this.#child.send({ id, ask })
    })
    if (told === undefined) throw new WireFault('lost', said('visa-process-gone', {}))
    return told
  }

  /** Closes what is open and ends the process; one that does not end is ended. */
  close(): void {
    if (this.#over) return
    this.#over = true
    this.#waiting?.done(undefined)
    this.#child.send({ id: 0, ask: { ask: 'close' } })
    // The library lives in real time.
    const force = setTimeout(() => this.#child.kill(), END_MS)
    this.#gone = () => clearTimeout(force)
  }

  #finish(words: string): void {
    if (this.#over) return
    this.#over = true
    this.#child.kill()
    this.#waiting?.done(undefined)
    this.#ended(new WireFault('lost', said('visa-process-trouble', { words })))
  }
}
