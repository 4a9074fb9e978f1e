import type { Circuit, Switch } from '../physics/circuit.ts'
import { byteXor } from './checksums.ts'
import type { ScannerParts } from './cs-16.ts'
import { LabInstrument } from './instrument.ts'
import { LineCutter } from './lines.ts'

const INPUTS = 32
const ANSWER_MS = 10
const RELAY_MS = 40
const GAP_US = 50_000

/** An older channel scanner: short acknowledged commands, exclusive-or both ways, inputs from 00, lines too soon are lost. */
export class Cs32 extends LabInstrument {
  readonly role = 'scanner'
  readonly profile = 'lab-cs-32'
  protected readonly terminator = '\r'
  readonly #inputs: Switch
  readonly #circuit: Circuit
  readonly #lines = new LineCutter('\r', 40)
  #lastError = 0
  /** Moment from which it listens again; infinite while it works on a line. */
  #listensFromUs = 0

  constructor(parts: ScannerParts) {
    super(parts)
    this.#inputs = parts.inputs
    this.#circuit = parts.circuit
  }

  override powerOff(): void {
    super.powerOff()
    this.#inputs.powerUp()
    this.#circuit.update()
  }

  protected override powerUp(): void {
    this.#lastError = 0
    this.#listensFromUs = 0
    this.#inputs.powerUp()
    this.#circuit.update()
    this.#say('P', '')
  }

  protected override forget(): void {
    this.#lines.clear()
    this.#listensFromUs = 0
  }

  protected override receive(text: string): void {
    for (const line of this.#lines.take(text)) {
      if (this.clock.now().monoUs < this.#listensFromUs) continue
      this.#listensFromUs = Number.POSITIVE_INFINITY
      const { reply, takesMs } = this.#obey(line ?? '')
      this.answerLater(takesMs, () => {
        this.#listensFromUs = this.clock.now().monoUs + GAP_US
        this.#say(reply, line ?? '')
      })
    }
  }

  #say(text: string, received: string): void {
    this.send(`${text}*${byteXor(text)}`, received)
  }

  #obey(line: string): { reply: string; takesMs: number } {
    const reply = this.#reply(line)
    const moved = reply === 'A' && /^[CO]/.test(line)
    return { reply, takesMs: moved ? RELAY_MS : ANSWER_MS }
  }

  #reply(line: string): string {
    const framed = /^(.*)\*([0-9A-F]{2})$/.exec(line)
    if (!framed || byteXor(framed[1]!) !== framed[2]) return this.#refuse(1)
    const text = framed[1]!
    if (text === 'I') return `IQUENNICK CS-32 ${this.serial} V1.4`
    if (text === 'Q') {
      const { closed } = this.#inputs
      return closed === undefined ? 'C--' : `C${twoDigits(closed - 1)}`
    }
    if (text === 'O') {
      this.#inputs.open()
      this.#circuit.update()
      return 'A'
    }
    if (text === 'E') {
      const error = this.#lastError
      this.#lastError = 0
      return `E${error}`
    }
    const argument = text.slice(1)
    if (text.startsWith('C')) return this.#close(argument)
    if (text.startsWith('K')) return this.#keepWarm(argument)
    return this.#refuse(2)
  }

  #refuse(error: number): string {
    this.#lastError = error
    return `N${error}`
  }

  #close(argument: string): string {
    const input = inputOf(argument)
    if (input === undefined) return this.#refuse(3)
    if (!this.#inputs.close(input, this.#circuit.room.advance())) return this.#refuse(5)
    this.#circuit.update()
    return 'A'
  }

  #keepWarm(argument: string): string {
    const parts = /^(\d\d)(?:,(\d{4}))?$/.exec(argument)
    const input = parts ? inputOf(parts[1]!) : undefined
    if (!parts || input === undefined) return this.#refuse(3)
    if (parts[2] === undefined) {
      const microampere = Math.round((this.#inputs.keepWarmA.get(input) ?? 0) * 1e6)
      return `K${parts[1]},${String(microampere).padStart(4, '0')}`
    }
    this.#inputs.keepWarmA.set(input, Number(parts[2]) / 1e6)
    this.#circuit.update()
    return 'A'
  }
}

function twoDigits(n: number): string {
  return String(n).padStart(2, '0')
}

/** Input counted from 1 for two digits counted from 00. */
function inputOf(digits: string): number | undefined {
  if (!/^\d\d$/.test(digits)) return undefined
  const n = Number(digits)
  return n < INPUTS ? n + 1 : undefined
}
