import { type ChildProcess, fork } from 'node:child_process'
import { fileURLToPath } from 'node:url'
import { said } from '../../app/messages/said.ts'
import { StationError } from '../station/station-error.ts'

const PROGRAM = fileURLToPath(new URL('./stillpoint.mjs', import.meta.url))
/** From its start to its page, also on a busy computer, ms of the wall clock. */
const START_MS = 60_000

/**
 * A station to practise on, as a process of its own: its records, its clock and its people are none of this station's, and
 * nothing of it stays. It ends with the station that opened it.
 */
export class PracticeStation {
  #child: ChildProcess | undefined
  #opening: Promise<string> | undefined

  /** Address of its page; one that runs already is taken again. Throws StationError 'refused' where it cannot be started. */
  open(): Promise<string> {
    if (!this.#opening || this.#child?.exitCode !== null) this.#opening = this.#start()
    return this.#opening
  }

  #start(): Promise<string> {
    const child = fork(PROGRAM, ['practice'], { stdio: ['ignore', 'ignore', 'ignore', 'ipc'] })
    this.#child = child
    return new Promise((resolve, reject) => {
      const fail = (why: string) => {
        clearTimeout(timer)
        child.kill()
        reject(new StationError('refused', said('practice-not-started', { why })))
      }
      const timer = setTimeout(() => fail('it took too long'), START_MS)
      child.once('error', ({ message }) => fail(message))
      child.once('exit', (code) => fail(`it ended with ${code}`))
      child.on('message', (message) => {
        const { address } = message as { address?: unknown }
        if (typeof address !== 'string') return
        clearTimeout(timer)
        child.removeAllListeners('exit')
        resolve(address)
      })
    })
  }

  close(): void {
    this.#child?.removeAllListeners('exit')
    this.#child?.kill()
    this.#child = undefined
  }
}
