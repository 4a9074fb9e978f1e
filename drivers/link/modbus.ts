import {
  EXCEPTION_WORDS,
  IS_EXCEPTION,
  MOST_READ,
  type ModbusFrame,
  readRequest,
  rtuCutter,
  tcpCutter,
  writeRequest,
  writeRtu,
  writeTcp,
} from '../../app/buses/modbus.ts'
import { PacketError } from '../../app/buses/packets.ts'
import { said } from '../../app/messages/said.ts'
import { countOf, type RegisterRule, readRegisters, writeRegisters } from './registers.ts'
import {
  type ByteWire,
  type Cleared,
  type Connect,
  type ConnectBytes,
  type Wire,
  WireFault,
  type WireListener,
} from './wire.ts'

export interface ModbusOptions {
  readonly framing: 'tcp' | 'rtu'
  readonly unit: number
  readonly registers: Readonly<Record<string, RegisterRule>>
}

/**
 * Speaks Modbus in lines: "name?" reads a register and answers its value and its words, "25.003 [41C8 0625]"; names joined
 * by commas are read with one request; "name value" writes and answers "written". An exception answers with its number
 * and words. The same guards, limits and read-backs hold as for any other line.
 */
export function modbusConnect(inner: ConnectBytes, options: ModbusOptions): Connect {
  return async (listener, signal) => {
    const lines = new ModbusLines(options, listener)
    const wire = await inner({ ...listener, data: (chunk) => lines.hear(chunk) }, signal)
    lines.begin(wire)
    return options.framing === 'tcp' ? lines : { write: lines.write, destroy: lines.destroy }
  }
}

interface Asked {
  readonly transaction: number
  readonly code: number
  /** What the response says, as a line; undefined where it is not the response to this request. */
  readonly tell: (pdu: Uint8Array) => string | undefined
  readonly awaited: boolean
}

/** A request before it is framed. */
interface Plain {
  readonly pdu: Uint8Array
  readonly tell: (pdu: Uint8Array) => string | undefined
}

interface Request {
  readonly code: number
  /** The frame as it goes out; over TCP its transaction is filled in each time. */
  readonly frame: Uint8Array
  readonly tell: (pdu: Uint8Array) => string | undefined
}

const MOST_QUESTIONS = 200

class ModbusLines implements Wire {
  readonly #options: ModbusOptions
  readonly #listener: WireListener
  readonly #cutter
  readonly #questions = new Map<string, Request>()
  #wire: ByteWire | undefined
  #transaction = 0
  #asked: Asked | undefined

  constructor(options: ModbusOptions, listener: WireListener) {
    this.#options = options
    this.#listener = listener
    const take = (frame: ModbusFrame) => this.#take(frame)
    this.#cutter = options.framing === 'tcp' ? tcpCutter(take) : rtuCutter('replies', take)
  }

  begin(wire: ByteWire): void {
    this.#wire = wire
  }

  readonly write = (line: string, awaitMs?: number): void => {
    const request = this.#requestOf(line)
    if (typeof request === 'string') {
      queueMicrotask(() => this.#tell(request))
      return
    }
    const { code, frame, tell } = request
    const awaited = awaitMs !== undefined
    if (this.#options.framing === 'rtu') {
      this.#asked = { transaction: 0, code, tell, awaited }
      this.#cutter.reset()
      this.#wire?.write(frame)
      return
    }
    const transaction = (this.#transaction + 1) & 0xffff
    this.#transaction = transaction
    this.#asked = { transaction, code, tell, awaited }
    // A copy: the one before may still be on its way out of this program.
    const numbered = frame.slice()
    numbered[0] = transaction >> 8
    numbered[1] = transaction & 0xff
    this.#wire?.write(numbered)
  }

  /** Modbus has no device clear; over TCP it needs none, since a response to a request that was given up is known by its number. */
  readonly clear = async (): Promise<Cleared> => {
    this.#asked = undefined
    return 'done'
  }

  readonly destroy = (): void => {
    this.#wire?.destroy()
  }

  hear(chunk: Uint8Array): void {
    try {
      this.#cutter.push(chunk)
    } catch (fault) {
      if (!(fault instanceof PacketError)) throw fault
      this.#cutter.reset()
      if (this.#options.framing === 'rtu') {
        this.#tell(`broken: ${fault.message}`)
        return
      }
      this.#wire?.destroy()
      this.#listener.closed(new WireFault('lost', said('not-modbus', { said: fault.message })))
    }
  }

  #take({ transaction, unit, pdu }: ModbusFrame): void {
    const asked = this.#asked
    if (this.#options.framing === 'tcp' && transaction !== asked?.transaction) {
      this.#listener.note('a response to another request was thrown away by its transaction id')
      return
    }
    // On a serial line nothing tells a response to this request from a late one: what nobody waits for is told as it is.
    this.#asked = undefined
    const said = asked === undefined || unit !== this.#options.unit ? undefined : answerOf(asked, pdu)
    if (asked !== undefined && !asked.awaited && said !== undefined) return
    this.#tell(said ?? `not the response that was asked for: unit ${unit}, ${hexOf(pdu)}`)
  }

  #tell(line: string): void {
    this.#listener.data(Buffer.from(`${line}\n`, 'latin1'))
  }

  /** Questions are the same again and again: each is read once. */
  #requestOf(line: string): Request | string {
    const known = this.#questions.get(line)
    if (known !== undefined) return known
    const read = this.#read(line.trimEnd())
    if (typeof read === 'string') return read
    const { unit, framing } = this.#options
    const { pdu, tell } = read
    const frame = framing === 'tcp' ? writeTcp({ transaction: 0, unit, pdu }) : writeRtu({ unit, pdu })
    const request = { code: pdu[0]!, frame, tell }
    if (line.endsWith('?\n') && this.#questions.size < MOST_QUESTIONS) this.#questions.set(line, request)
    return request
  }

  /** The request that a line means, or why there is none. */
  #read(line: string): Plain | string {
    const asks = /^([\w,-]+)\?$/.exec(line)
    if (asks !== null) return this.#toRead(asks[1]!.split(','))
    const sets = /^([\w-]+) (\S+)$/.exec(line)
    if (sets === null) return `"${line}" is neither a question nor a setting of a register`
    const [, name = '', value = ''] = sets
    const rule = this.#rule(name)
    if (rule === undefined || rule.table !== 'holding') return `there is no register "${name}" to set`
    const words = writeRegisters(rule, value)
    if (words === undefined) return `${value} cannot be written into the register "${name}"`
    const pdu = writeRequest(rule.address, words)
    // The response repeats function, address and value, or function, address and count (V1.1b3, 6.6 and 6.12; from memory).
    return { pdu, tell: (reply) => (isSame(reply, pdu.subarray(0, 5)) ? 'written' : undefined) }
  }

  #toRead(names: readonly string[]): Plain | string {
    const rules: RegisterRule[] = []
    for (const name of names) {
      const rule = this.#rule(name)
      if (rule === undefined) return `there is no register "${name}"`
      rules.push(rule)
    }
    const { table } = rules[0]!
    const first = Math.min(...rules.map(({ address }) => address))
    const count = Math.max(...rules.map((rule) => rule.address + countOf(rule))) - first
    if (count > MOST_READ || rules.some((rule) => rule.table !== table))
      return `${names.join(', ')} cannot be read with one request`
    return {
      pdu: readRequest(table, first, count),
      tell: (reply) => {
        if (reply.length !== 2 + 2 * count || reply[1] !== 2 * count) return undefined
        let said = ''
        for (const rule of rules) {
          const words: number[] = []
          for (let i = 0, at = 2 + 2 * (rule.address - first); i < countOf(rule); i++, at += 2)
            words.push((reply[at]! << 8) | reply[at + 1]!)
          said += `${said === '' ? '' : ', '}${readRegisters(rule, words)} [${words.map(hexWord).join(' ')}]`
        }
        return said
      },
    }
  }

  #rule(name: string): RegisterRule | undefined {
    const { registers } = this.#options
    return Object.hasOwn(registers, name) ? registers[name] : undefined
  }
}

function answerOf({ code, tell }: Asked, pdu: Uint8Array): string | undefined {
  if (pdu[0] === code) return tell(pdu)
  if (pdu[0] !== (code | IS_EXCEPTION) || pdu.length !== 2) return undefined
  return `exception ${pdu[1]}: ${EXCEPTION_WORDS[pdu[1]!] ?? 'not known'}`
}

function isSame(a: Uint8Array, b: Uint8Array): boolean {
  return a.length === b.length && a.every((byte, i) => byte === b[i])
}

const hexWord = (word: number): string => word.toString(16).toUpperCase().padStart(4, '0')
const hexOf = (bytes: Uint8Array): string =>
  [...bytes].map((byte) => byte.toString(16).padStart(2, '0')).join(' ')
