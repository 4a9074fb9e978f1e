import type { Clock, Disposable } from '../../app/base/clock.ts'
import type { RandomStream } from '../physics/randomness.ts'
import {
  type FaultKind,
  type FaultOrder,
  type FaultRecord,
  PACKET_FAULTS,
  REPLY_FAULTS,
  VALUE_FAULTS,
} from './order.ts'

export interface ActiveFault {
  readonly order: FaultOrder
  readonly record: FaultRecord
  left: number
  /** Value frozen by `stuck`. */
  frozen?: number
  timer?: Disposable
  onEnd?: (() => void) | undefined
}

/** One piece of bytes to put on the wire, after a delay. */
export interface Delivery {
  afterMs: number
  text: string
}

/** A unit a muddled instrument could write in place of its own. */
const OTHER_UNITS: Readonly<Record<string, string>> = {
  OHM: 'KOHM',
  V: 'MV',
  RAT: 'OHM',
  C: 'F',
  F: 'C',
}

/** The faults that act on one instrument now. */
export class FaultDesk {
  readonly #clock: Clock
  readonly #stream: RandomStream
  readonly #log: FaultRecord[]
  readonly #active = new Set<ActiveFault>()
  #lastReply = ''
  #held = ''

  constructor(clock: Clock, stream: RandomStream, log: FaultRecord[]) {
    this.#clock = clock
    this.#stream = stream
    this.#log = log
  }

  /** Starts a fault now; `onEnd` is called when it is over. */
  begin(order: FaultOrder, onEnd?: () => void): ActiveFault {
    const now = this.#clock.now()
    const record: FaultRecord = {
      order,
      startedUtcUs: now.utcUs,
      startedMonoUs: now.monoUs,
      endedMonoUs: undefined,
      hits: [],
    }
    const once = [REPLY_FAULTS, PACKET_FAULTS, VALUE_FAULTS].some((kinds) => kinds.includes(order.kind))
    const left = order.times ?? (once && order.forS === undefined ? 1 : Number.POSITIVE_INFINITY)
    const fault: ActiveFault = { order, record, left, onEnd }
    this.#active.add(fault)
    this.#log.push(record)
    if (order.forS !== undefined) fault.timer = this.#clock.after(order.forS * 1000, () => this.end(fault))
    return fault
  }

  end(fault: ActiveFault): void {
    if (!this.#active.delete(fault)) return
    fault.timer?.dispose()
    fault.record.endedMonoUs = this.#clock.now().monoUs
    fault.onEnd?.()
  }

  /** The lab closes: faults stop without giving anything back. */
  abandonAll(): void {
    for (const fault of this.#active) {
      fault.timer?.dispose()
      fault.record.endedMonoUs = this.#clock.now().monoUs
    }
    this.#active.clear()
  }

  /** Notes that a fault touched something, and ends it after its last time. */
  hit(fault: ActiveFault, what: string): void {
    fault.record.hits.push({ monoUs: this.#clock.now().monoUs, what })
    fault.left -= 1
    if (fault.left <= 0) this.end(fault)
  }

  is(kind: FaultKind): boolean {
    for (const fault of this.#active) if (fault.order.kind === kind) return true
    return false
  }

  /** What truly goes out for a reply. `text` has no terminator yet; `received` is the line that asked for it. */
  deliver(text: string, terminator: string, received: string): Delivery[] {
    let line = text
    let end = terminator
    let afterMs = 0
    let copies = 1
    let whole: string | undefined
    const repeats: Delivery[] = []
    const previous = this.#lastReply
    this.#lastReply = text
    for (const fault of [...this.#active]) {
      const { order } = fault
      if (!REPLY_FAULTS.includes(order.kind)) continue
      this.hit(fault, text)
      switch (order.kind) {
        case 'silence':
          return []
        case 'late':
          afterMs += order.byS * 1000
          break
        case 'half-line': {
          const most = line.length + end.length - 1
          whole = line.slice(0, Math.min(most, order.keepBytes ?? Math.floor(line.length / 2)))
          break
        }
        case 'garbage':
          whole = this.#noise(order.bytes ?? line.length + end.length)
          break
        case 'bit-flip':
          line = this.#flipOneBit(line)
          break
        case 'nul':
          line = `\0${line}\0`
          break
        case 'wrong-terminator':
          end = order.terminator ?? (terminator === '\r' ? '\n' : '\r')
          break
        case 'previous-answer':
          line = previous
          break
        case 'doubled':
          copies = 2
          break
        case 'repeat':
          repeats.push({ afterMs: order.byS * 1000, text: line + end })
          break
        case 'glued':
          this.#held += line
          return []
        case 'echo':
          line = received + end + line
          break
        case 'decimal-comma':
          line = line.replaceAll('.', ',')
          break
        case 'flood':
          whole = '+1.234567890E+00'.repeat(Math.ceil(order.bytes / 16)).slice(0, order.bytes)
          break
      }
    }
    const held = this.#held
    this.#held = ''
    return [{ afterMs, text: whole ?? (held + line + end).repeat(copies) }, ...repeats]
  }

  /**
   * Sends the packet of a bus, or what the faults make of it. `wrong` is the same packet with another message id, where
   * the bus has one.
   */
  sendPacket(packet: Uint8Array, wrong: () => Uint8Array, send: (bytes: Uint8Array) => void): void {
    let bytes = packet
    let copies = 1
    let afterMs = 0
    for (const fault of [...this.#active]) {
      const { order } = fault
      if (!PACKET_FAULTS.includes(order.kind)) continue
      this.hit(fault, `${packet.length} bytes`)
      if (order.kind === 'lost-packet') copies = 0
      else if (order.kind === 'half-packet') bytes = bytes.slice(0, bytes.length >> 1)
      else if (order.kind === 'doubled-packet') copies = 2
      else if (order.kind === 'late-packet') afterMs += order.byS * 1000
      else if (order.kind === 'noisy-packet') bytes = this.#flipOne(bytes)
      else bytes = wrong()
    }
    for (let copy = 0; copy < copies; copy++) {
      // On its way it is the network's: neither a device clear nor a power cut takes it back.
      if (afterMs > 0) this.#clock.after(afterMs, () => send(bytes))
      else send(bytes)
    }
  }

  /** The unit the instrument writes behind a value: the given one, or under `unit-swap` another of its kind. */
  unit(name: string): string {
    let written = name
    for (const fault of [...this.#active]) {
      if (fault.order.kind !== 'unit-swap') continue
      written = OTHER_UNITS[name] ?? name
      this.hit(fault, written)
    }
    return written
  }

  /** What the instrument takes a measured value for; infinite: over range, NaN: not a number. */
  observe(value: number, thermometer?: string): number {
    let seen = value
    for (const fault of [...this.#active]) {
      const { order } = fault
      if ('thermometer' in order && order.thermometer !== undefined && order.thermometer !== thermometer)
        continue
      const elapsedH = (this.#clock.now().monoUs - fault.record.startedMonoUs) / 3.6e9
      switch (order.kind) {
        case 'over-range':
          seen = Number.POSITIVE_INFINITY
          break
        case 'not-a-number':
          seen = Number.NaN
          break
        case 'jump':
          seen += order.by
          break
        case 'drift':
          seen += order.perHour * elapsedH
          break
        case 'stuck':
          fault.frozen ??= seen
          seen = fault.frozen
          break
        default:
          continue
      }
      this.hit(fault, String(seen))
    }
    return seen
  }

  #noise(count: number): string {
    let text = ''
    while (text.length < count) {
      const byte = this.#stream.integer(256)
      // Terminators would make a line of it; what a wrong speed of the line gives has none for long stretches.
      if (byte !== 10 && byte !== 13 && byte !== 3) text += String.fromCharCode(byte)
    }
    return text
  }

  #flipOne(packet: Uint8Array): Uint8Array {
    const flipped = packet.slice()
    const at = this.#stream.integer(flipped.length)
    flipped[at]! ^= 1 << this.#stream.integer(8)
    return flipped
  }

  #flipOneBit(line: string): string {
    if (line === '') return line
    const at = this.#stream.integer(line.length)
    const flipped = line.charCodeAt(at) ^ (1 << this.#stream.integer(7))
    return line.slice(0, at) + String.fromCharCode(flipped) + line.slice(at + 1)
  }
}
