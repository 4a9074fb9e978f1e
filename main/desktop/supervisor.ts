import type { MessagePortMain, UtilityProcess } from 'electron'
import type { Pulse } from '../station/pulse.ts'
import { IdleMeter } from './idle-meter.ts'
import type { ElectronParts } from './parts.ts'
import { endForSure } from './reap.ts'
import type { VisaWish } from './visa-channels.ts'

export interface SupervisorOptions {
  /** The core's entry script and its arguments. */
  script: string
  args: () => string[]
  log: (words: string) => void
  /** Called whenever a new core is ready, so that windows get a new port. */
  onReady: () => void
  /** Called once per crash with what is known of it. */
  onCrash: (words: string) => void
  onMessage: (message: CoreMessage) => void
  /** A core that has not answered a ping for this long is hung and is replaced, ms; longer on a machine that is full. */
  hungAfterMs?: number
  /** Share of the machine's processor time that nobody has used since it was last asked, 0 to 1. */
  idleShare?: () => number
}

/** What the core tells the shell. */
export type CoreMessage =
  | { kind: 'ready' }
  | ({ kind: 'pong'; n: number } & Partial<Pulse>)
  | { kind: 'running'; session: string | null }
  | { kind: 'notice'; title: string; body: string }
  | { kind: 'stopped' }
  /** What it is still doing before it ends; told over and over until it is done. */
  | { kind: 'leaving'; words: string }
  /** The installed program has tried itself, where it was started to do so. */
  | { kind: 'self-tested'; good: boolean; words: string }
  /** Somebody at a command line wants the station to end. */
  | { kind: 'asked-to-stop'; safely: boolean }
  | { kind: 'need-secret'; name: string }
  | VisaWish
  /** It cannot open its station and ends; a new start would end the same way until a person has done something. */
  | { kind: 'refused'; words: string }

/** Argument with which the program tries itself on a folder of its own, and ends. */
export const SELF_TEST = '--self-test'

const FIRST_WAIT_MS = 250
const LONGEST_WAIT_MS = 30_000
/** A core that lived this long after it was ready ends the series of growing waits. */
const PROVEN_MS = 60_000
/** A core that was told to end and still stands after this long is ended by the system. */
const REAP_AFTER_MS = 5_000
/** Pings within `hungAfterMs`. */
const PINGS = 4
/** With less of the machine idle than this, a silent core may only be waiting for its turn. */
const FULL_BELOW = 0.1
/** What a beat of silence on a full machine counts. */
const FULL_WEIGHT = 0.25

/**
 * Keeps the station core alive in a process of its own. A crashed or hung core is started again with growing waits; the
 * core itself takes the open session up and marks the gap. A window that closes or crashes never touches it.
 */
export class CoreSupervisor {
  readonly #electron: ElectronParts
  readonly #options: SupervisorOptions
  #child: UtilityProcess | undefined
  #ready = false
  #wanted = true
  #waitMs = FIRST_WAIT_MS
  #pings = 0
  /** Beats since the last answer, those on a full machine at less. */
  #silence = 0
  #readyAt = Number.POSITIVE_INFINITY
  #restart: NodeJS.Timeout | undefined
  #watchdog: NodeJS.Timeout | undefined
  #ended: (() => void) | undefined
  #patience: (() => void) | undefined
  #lastFault = ''

  constructor(electron: ElectronParts, options: SupervisorOptions) {
    this.#electron = electron
    this.#options = options
  }

  get ready(): boolean {
    return this.#ready
  }

  get pid(): number | undefined {
    return this.#child?.pid
  }

  start(): void {
    this.#wanted = true
    const child = this.#electron.utilityProcess.fork(this.#options.script, this.#options.args(), {
      serviceName: 'Stillpoint core',
      stdio: 'pipe',
    })
    this.#child = child
    child.stdout?.on('data', (text: Buffer) => this.#options.log(String(text).trimEnd()))
    child.stderr?.on('data', (text: Buffer) => this.#options.log(String(text).trimEnd()))
    // Comes before 'exit' when V8 cannot go on, out of memory say. Nobody listening would end the shell as well.
    child.on('error', (type, location) => {
      this.#lastFault = `; it ran out of memory or V8 failed (${type} at ${location})`
      this.#options.log(`the core failed: ${type} at ${location}`)
    })
    child.on('message', (message: CoreMessage) => this.#hear(message))
    child.on('exit', (code) => this.#exited(child, code))
  }

  /** Hands one end of a channel to the core, for one window. */
  connect(port: MessagePortMain): void {
    this.#child?.postMessage({ kind: 'window' }, [port])
  }

  tell(message: { kind: string; [key: string]: unknown }, ports: MessagePortMain[] = []): void {
    this.#child?.postMessage(message, ports)
  }

  /** Asks the core to finish what it holds and end; kills it when it has been silent about it for `patienceMs`. */
  async stop(patienceMs = 15_000): Promise<void> {
    this.#wanted = false
    clearTimeout(this.#restart)
    clearInterval(this.#watchdog)
    const child = this.#child
    if (!child) return
    await new Promise<void>((resolve) => {
      const wait = () => setTimeout(() => this.kill(), patienceMs)
      let force = wait()
      this.#patience = () => {
        clearTimeout(force)
        force = wait()
      }
      this.#ended = () => {
        clearTimeout(force)
        resolve()
      }
      child.postMessage({ kind: 'stop' })
    })
  }

  /** Ends the core at once, and for sure: a process that takes no signal is reaped by the system. */
  kill(): void {
    const child = this.#child
    if (child) endForSure(child, REAP_AFTER_MS)
  }

  #hear(message: CoreMessage): void {
    if (message.kind === 'pong') this.#heed(message)
    if (message.kind === 'ready') {
      this.#ready = true
      this.#readyAt = Date.now()
      this.#watch()
      this.#options.onReady()
    }
    if (message.kind === 'refused') this.#wanted = false
    if (message.kind === 'leaving') this.#patience?.()
    this.#options.onMessage(message)
  }

  /** A core that answers and yet stores none of the readings that are due is as bad as one that hangs. */
  #heed({ silentS = 0, allowedS = 0 }: Partial<Pulse>): void {
    this.#silence = 0
    if (silentS <= allowedS) return
    this.#options.log(`the core has stored no reading for ${Math.round(silentS)} s; replacing it`)
    this.#child?.kill()
  }

  /**
   * Silence is counted in beats of this process, not by the clock: a computer that slept has not made the core silent. A
   * beat counts less while no processor is idle, since the core then may be slow through no fault of its own, and
   * replacing it would cost readings and make the machine fuller still.
   */
  #watch(): void {
    const beatMs = (this.#options.hungAfterMs ?? 20_000) / PINGS
    const idleShare = this.#options.idleShare ?? new IdleMeter().share
    this.#silence = 0
    idleShare()
    clearInterval(this.#watchdog)
    this.#watchdog = setInterval(() => {
      this.#silence += idleShare() < FULL_BELOW ? FULL_WEIGHT : 1
      if (this.#silence > PINGS) {
        this.#options.log('the core does not answer; replacing it')
        this.kill()
        return
      }
      this.#pings += 1
      this.#child?.postMessage({ kind: 'ping', n: this.#pings })
    }, beatMs)
  }

  #exited(child: UtilityProcess, code: number): void {
    if (child !== this.#child) return
    this.#child = undefined
    this.#ready = false
    clearInterval(this.#watchdog)
    this.#ended?.()
    const fault = this.#lastFault
    this.#lastFault = ''
    if (!this.#wanted) return
    if (Date.now() - this.#readyAt > PROVEN_MS) this.#waitMs = FIRST_WAIT_MS
    this.#readyAt = Number.POSITIVE_INFINITY
    this.#options.onCrash(
      `The station core ended unexpectedly (code ${code}${fault}). It is being started again; the session goes on with the gap marked.`,
    )
    this.#restart = setTimeout(() => this.start(), this.#waitMs)
    this.#waitMs = Math.min(LONGEST_WAIT_MS, this.#waitMs * 2)
  }
}
