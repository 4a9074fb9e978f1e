import type { Instant, StopSignal } from '../base/clock.ts'
import { CodedError } from '../base/coded-error.ts'
import type { Said } from '../messages/said.ts'
import type { Mark } from '../records/mark.ts'
import type { RawUnit } from '../records/reading.ts'

/**
 * What the station sees of an instrument, whatever wire and language are behind it. Drivers and profiles implement
 * these faces; the station's scheduler and plan runner use nothing else.
 */

/** One measured value. `value` is the decimal text as sent, undefined where the reply holds no usable number. */
export interface Measured {
  readonly raw: string
  readonly value: string | undefined
  readonly unit: RawUnit
  readonly marks: readonly Mark[]
  /** When the reply's last byte arrived (or the deadline passed). */
  readonly at: Instant
  /** A sentence for the record where something went wrong. */
  readonly note?: string
  /** The reply says which input it is of, and that is the one that was asked for: it is of no other channel. */
  readonly namesInput?: true
  /** What else came with the same answer: earlier moments of the same input, or other inputs. */
  readonly row?: readonly RowValue[]
  /**
   * Where the moments of a row are from: told by the instrument (the last one is when the answer was there), or spread evenly over the
   * exchange because it does not tell them.
   */
  readonly moments?: 'told' | 'spread'
}

/** Another value of an answer that has several. */
export interface RowValue extends Omit<Measured, 'row' | 'moments'> {
  /** The input it is of, numbered from 1, where it is another one. */
  readonly input?: number
}

export interface Identity {
  readonly maker: string
  readonly model: string
  readonly serial: string
  readonly firmware: string
  /** The whole reply. */
  readonly raw: string
}

/** closed: not opened yet. connecting: trying. ready: identified. lost: was ready, being tried again. stopped: for good. */
export type LinkState = 'closed' | 'connecting' | 'ready' | 'lost' | 'stopped'

export interface TrafficLine {
  readonly at: Instant
  readonly direction: 'sent' | 'received' | 'note'
  /** Control characters and bytes above 126 escaped as \xNN. */
  readonly text: string
}

export interface LinkStatus {
  readonly state: LinkState
  /** What a person reads: 'ready', 'no answer for 12 s, trying again in 4 s', 'permission denied: ...'. */
  readonly words: string
  /** The message that is made of. */
  readonly said: Said
  readonly since: Instant
  /** Why it is not ready, where that is known. */
  readonly cause?: InstrumentErrorCode
  readonly exchanges: number
  readonly faults: number
}

export interface Instrument {
  /** Id on the bench. */
  readonly id: string
  /** Profile id. */
  readonly profile: string
  readonly role: InstrumentRole
  readonly identity: Identity | undefined
  readonly status: LinkStatus
  /** Starts connecting; resolves when identified, rejects with an InstrumentError when it cannot be done now (it goes on trying). */
  open(signal?: StopSignal): Promise<Identity>
  /** Ends for good: no more reconnects. */
  close(): Promise<void>
  onDidChangeStatus(listener: (status: LinkStatus) => void): { dispose(): void }
  onTraffic(listener: (line: TrafficLine) => void): { dispose(): void }
  /** One line typed by a person. Refused in words where it would pass a limit or the command is tagged hazardous. */
  converse(line: string, signal?: StopSignal): Promise<string | undefined>
}

export type InstrumentRole = 'ratio-bridge' | 'scanner' | 'bath' | 'meter' | 'environment'

/** What one measurement on a bridge or meter needs; absent fields leave the instrument as it is. */
export interface MeasureRequest {
  /** The instrument's own input, where it has several. Numbered from 1 here; the profile maps it. */
  readonly input?: number
  readonly currentMa?: number
  /** Readings the instrument (or the driver) averages into one value. */
  readonly average?: number
  /** Measuring range by its name in the profile. */
  readonly range?: string
  readonly signal?: StopSignal
}

/** A ratio bridge or a resistance/voltage meter. Never throws for a bad reply: a silent or garbled one is a marked Measured. */
export interface Meter extends Instrument {
  readonly role: 'ratio-bridge' | 'meter'
  /** Unit of what measure() returns. */
  readonly unit: RawUnit
  /** How many inputs of its own. */
  readonly inputs: number
  /** Names of its measuring ranges; none where it has one only, or chooses by itself. */
  readonly ranges?: readonly string[]
  measure(request: MeasureRequest): Promise<Measured>
  /** Told when the value measured last may be the answer to an earlier question: it is not to count. */
  onDidDoubt(listener: () => void): { dispose(): void }
  /** Keep-warm current of an input that waits, where the instrument has one. */
  keepWarm?(input: number, currentMa: number): Promise<void>
}

/** A channel scanner: connects one of its inputs (numbered from 1 here) to the bridge or meter. */
export interface Scanner extends Instrument {
  readonly role: 'scanner'
  readonly inputs: number
  select(input: number, signal?: StopSignal): Promise<void>
  /** Keep-warm current of a waiting input, where the scanner supplies one. */
  keepWarm?(input: number, currentMa: number): Promise<void>
}

export interface Bath extends Instrument {
  readonly role: 'bath'
  /** The limits the driver holds on every path, in degrees Celsius. */
  limits: { lowC: number; highC: number }
  /** Sets, reads back and compares; throws InstrumentError 'refused' outside the limits, 'not-confirmed' when the read-back differs. */
  setSetpoint(celsius: number, signal?: StopSignal): Promise<void>
  readSetpoint(signal?: StopSignal): Promise<Measured>
  readTemperature(signal?: StopSignal): Promise<Measured>
  /** Heating and stirring on or off, where the instrument offers it. */
  setOutput?(on: boolean, signal?: StopSignal): Promise<void>
}

/** Air temperature, humidity, pressure: one Measured per quantity. */
export interface EnvironmentSensor extends Instrument {
  readonly role: 'environment'
  readAll(
    signal?: StopSignal,
  ): Promise<readonly { quantity: 'air-temperature' | 'humidity' | 'pressure'; measured: Measured }[]>
}

export type AnyInstrument = Meter | Scanner | Bath | EnvironmentSensor

export type InstrumentErrorCode =
  | 'silent'
  | 'garbled'
  | 'late'
  | 'lost'
  | 'not-open'
  | 'wrong-instrument'
  | 'refused'
  | 'not-confirmed'
  | 'instrument-said'
  | 'permission'
  | 'no-such-port'
  | 'stopped'

/** A fault of an instrument or its link, in words that say what to do. */
export class InstrumentError extends CodedError<InstrumentErrorCode> {
  readonly instrument: string
  constructor(code: InstrumentErrorCode, instrument: string, said: Said, options?: { cause?: unknown }) {
    super(code, said, { instrument }, options?.cause)
    this.instrument = instrument
  }
}
