import type { Disposable } from '../../../app/base/clock.ts'
import { type InstrumentParts, LabInstrument } from '../instrument.ts'
import { LineCutter, type LineEnd } from '../lines.ts'
import { EVENT, ScpiFault } from './errors.ts'
import { type Command, CommandTable, type Outcome, pathOf, Wait } from './headers.ts'
import { parseMessage, type Unit } from './message.ts'
import { type ConditionRegister, Status } from './status.ts'

const LONGEST_LINE = 255

interface Running {
  line: string
  units: Unit[]
  next: number
  path: string
  replies: string[]
}

/**
 * An instrument that follows the message exchange of IEEE 488.2 and the headers and error queue of SCPI-99: units of a
 * line one after another, one line of replies, a new line while an answer is due interrupts the query.
 */
export abstract class ScpiInstrument extends LabInstrument {
  protected abstract readonly model: string
  protected abstract readonly firmware: string
  /** How 'no error' is written before the comma. */
  protected readonly noError: string = '0'
  override readonly hasErrorQueue = true
  protected readonly status: Status
  readonly #lines: LineCutter
  #table: CommandTable | undefined
  #running: Running | undefined
  #wait: { timer: Disposable; answerDue: boolean } | undefined
  readonly #backlog: (string | undefined)[] = []
  #completion: Disposable | undefined
  #serviceWanted = false

  constructor(parts: InstrumentParts, end: LineEnd = '\n') {
    super(parts)
    this.#lines = new LineCutter(end, LONGEST_LINE)
    this.status = new Status(
      () => this.operationCondition(),
      () => this.questionableCondition(),
    )
  }

  protected abstract commands(): Command[]
  /** Moment at which everything under way is done; anything not after now: nothing is. */
  protected abstract pendingUntilUs(): number
  /** Settings of *RST. */
  protected abstract reset(): void

  protected operationCondition(): number {
    return 0
  }

  protected questionableCondition(): number {
    return 0
  }

  override fail(number: number, text: string): void {
    this.status.error(number, text)
    this.#askForService()
  }

  protected override powerUp(): void {
    this.status.clear()
    this.status.eventEnable = 0
    this.status.serviceEnable = 0
    this.status.raise(EVENT.PON)
    this.reset()
  }

  protected override forget(): void {
    this.#lines.clear()
    this.#abandon()
    this.#backlog.length = 0
  }

  protected override statusByte(messageAvailable: boolean): number {
    return this.status.byte(messageAvailable)
  }

  /** Means the same as *TRG (IEEE 488.2, 10.37; number from memory). */
  protected override trigger(): void {
    this.receive('*TRG\n')
  }

  protected override interrupted(): void {
    this.status.error(-410)
  }

  protected override receive(text: string): void {
    for (const line of this.#lines.take(text)) this.#arrive(line)
  }

  /** Puts a finished line of replies on the wire; dm-7 may keep it instead. */
  protected answer(text: string, received: string): void {
    this.send(text, received)
  }

  protected get nowUs(): number {
    return this.clock.now().monoUs
  }

  #abandon(): void {
    this.#wait?.timer.dispose()
    this.#wait = undefined
    this.#running = undefined
  }

  #arrive(line: string | undefined): void {
    if (this.#wait) {
      if (!this.#wait.answerDue) {
        this.#backlog.push(line)
        return
      }
      if (line?.trim() === '') return
      this.#abandon()
      this.status.error(-410)
    }
    this.#begin(line)
  }

  #begin(line: string | undefined): void {
    if (line === undefined) {
      this.status.error(-363)
      return
    }
    try {
      const units = parseMessage(line.replace(/\r$/, ''))
      this.#running = { line, units, next: 0, path: '', replies: [] }
    } catch (fault) {
      this.#refuse(fault)
      return
    }
    this.#continue()
  }

  #continue(): void {
    const running = this.#running
    if (!running) return
    while (running.next < running.units.length) {
      const unit = running.units[running.next]!
      running.next += 1
      const header = unit.absolute ? unit.header : running.path + unit.header
      if (!header.startsWith('*')) running.path = pathOf(header)
      let outcome: Outcome
      try {
        outcome = this.#execute(header, unit)
      } catch (fault) {
        this.#refuse(fault)
        break
      }
      if (outcome instanceof Wait) {
        this.#waitFor(outcome, running, header.endsWith('?'))
        return
      }
      if (typeof outcome === 'string') running.replies.push(outcome)
    }
    this.#finish(running)
  }

  #execute(header: string, unit: Unit): Outcome {
    this.#table ??= new CommandTable([...this.#common(), ...this.commands()])
    const act = this.#table.find(header)
    if (!act) throw new ScpiFault(-113)
    return act(unit.args)
  }

  #waitFor(wait: Wait, running: Running, isQuery: boolean): void {
    const timer = this.later(Math.max(0, (wait.untilUs - this.nowUs) / 1000), () => {
      this.#wait = undefined
      try {
        const reply = wait.finish()
        if (reply !== undefined) running.replies.push(reply)
      } catch (fault) {
        this.#refuse(fault)
        this.#finish(running)
        return
      }
      this.#continue()
    })
    this.#wait = { timer, answerDue: isQuery || running.replies.length > 0 }
  }

  #finish(running: Running): void {
    this.#running = undefined
    if (running.replies.length > 0) this.answer(running.replies.join(';'), running.line)
    this.#askForService()
    if (this.#backlog.length > 0) this.#arrive(this.#backlog.shift())
  }

  #refuse(fault: unknown): void {
    if (!(fault instanceof ScpiFault)) throw fault
    this.status.error(fault.number)
  }

  /** At once when nothing is under way, else when it is done. */
  protected whenDone(finish: () => string | undefined): Outcome {
    const until = this.pendingUntilUs()
    return until > this.nowUs ? new Wait(until, finish) : finish()
  }

  #common(): Command[] {
    const { status } = this
    const byte = { low: 0, high: 255 }
    return [
      {
        header: '*CLS',
        tell: (a) => {
          a.expect(0)
          status.clear()
        },
      },
      {
        header: '*ESE',
        tell: (a) => {
          status.eventEnable = a.expect(1).integer(0, byte.low, byte.high)
        },
        ask: () => String(status.eventEnable),
      },
      { header: '*ESR', ask: () => String(status.takeEvents()) },
      { header: '*IDN', ask: () => `QUENNICK,${this.model},${this.serial},${this.firmware}` },
      { header: '*OPC', tell: () => this.#noteCompletion(), ask: () => this.whenDone(() => '1') },
      { header: '*RST', tell: () => this.reset() },
      {
        header: '*SRE',
        tell: (a) => {
          status.serviceEnable = a.expect(1).integer(0, byte.low, byte.high)
        },
        ask: () => String(status.serviceEnable),
      },
      { header: '*STB', ask: () => String(status.byte((this.#running?.replies.length ?? 0) > 0)) },
      { header: '*TST', ask: () => '0' },
      { header: '*WAI', hold: () => this.whenDone(() => undefined) },
      {
        header: 'SYSTem:ERRor[:NEXT]',
        ask: () => {
          const { number, text } = status.nextError()
          return `${number === 0 ? this.noError : number},"${text}"`
        },
      },
      { header: 'SYSTem:ERRor:COUNt', ask: () => String(status.errorCount) },
      { header: 'SYSTem:VERSion', ask: () => '1999.0' },
      {
        header: 'STATus:PRESet',
        tell: () => {
          status.operation.enable = 0
          status.questionable.enable = 0
        },
      },
      ...registerCommands('OPERation', status.operation),
      ...registerCommands('QUEStionable', status.questionable),
    ]
  }

  #noteCompletion(): void {
    this.#completion?.dispose()
    const left = this.pendingUntilUs() - this.nowUs
    const complete = () => {
      this.status.raise(EVENT.OPC)
      this.#askForService()
    }
    if (left <= 0) complete()
    else this.#completion = this.later(left / 1000, complete)
  }

  /** Asks for service when the master summary bit rises (IEEE 488.2, 11.3; number from memory). */
  #askForService(): void {
    const byte = this.status.byte(false)
    const wanted = (byte & 64) !== 0
    if (wanted && !this.#serviceWanted) this.port.bus?.requestService(byte)
    this.#serviceWanted = wanted
  }
}

function registerCommands(name: string, register: ConditionRegister): Command[] {
  return [
    { header: `STATus:${name}:CONDition`, ask: () => String(register.condition()) },
    { header: `STATus:${name}[:EVENt]`, ask: () => String(register.takeEvent()) },
    {
      header: `STATus:${name}:ENABle`,
      tell: (a) => {
        register.enable = a.expect(1).integer(0, 0, 65535)
      },
      ask: () => String(register.enable),
    },
  ]
}
