import { z } from 'zod'
import { CodedError } from '../../app/base/coded-error.ts'
import { type Said, said } from '../../app/messages/said.ts'

const seconds = z.number().nonnegative()
const common = {
  /** Seconds of lab time after its start; absent: at once. */
  atS: seconds.optional(),
  /** Bench id of the instrument. */
  instrument: z.string().min(1),
  /** Ends after this long, s. */
  forS: seconds.optional(),
  /** Ends after this many replies or values. */
  times: z.int().positive().optional(),
}
/** A fault of values may be that of one thermometer only, whichever instrument measures it. */
const ofValue = { ...common, thermometer: z.string().min(1).optional() }

const order = <K extends string, S extends z.ZodRawShape>(kind: K, shape: S) =>
  z.strictObject({ kind: z.literal(kind), ...shape })

/** One fault to order. Without `forS` and `times` a fault of replies or values hits once, any other lasts until it is ended. */
export const FaultOrder = z.discriminatedUnion('kind', [
  order('silence', common),
  order('late', { ...common, byS: seconds }),
  order('half-line', { ...common, keepBytes: z.int().nonnegative().optional() }),
  order('garbage', { ...common, bytes: z.int().positive().optional() }),
  order('bit-flip', common),
  order('nul', common),
  order('wrong-terminator', { ...common, terminator: z.string().optional() }),
  order('previous-answer', common),
  order('doubled', common),
  order('repeat', { ...common, byS: seconds }),
  order('glued', common),
  order('echo', common),
  order('decimal-comma', common),
  order('unit-swap', common),
  order('flood', { ...common, bytes: z.int().positive() }),
  order('error-in-queue', { ...common, number: z.int(), text: z.string() }),
  order('over-range', ofValue),
  order('not-a-number', ofValue),
  order('jump', { ...ofValue, by: z.number() }),
  order('drift', { ...ofValue, perHour: z.number() }),
  order('stuck', ofValue),
  order('connection-drop', common),
  order('port-vanish', common),
  order('power-cut', { ...common, link: z.enum(['kept', 'lost']).optional() }),
  order('lost-packet', common),
  order('half-packet', common),
  order('doubled-packet', common),
  order('late-packet', { ...common, byS: seconds }),
  order('wrong-id', common),
  order('noisy-packet', common),
  order('link-drop', common),
  order('locked-by-other', common),
  order('stall', common),
  order('service-requests', { ...common, count: z.int().positive().max(100_000) }),
  order('relay-stuck', common),
  order('runaway-heater', common),
  order('no-cooling', common),
  order('sensor-fault', common),
])
export type FaultOrder = z.output<typeof FaultOrder>
export type FaultKind = FaultOrder['kind']

/** Faults of single replies. */
export const REPLY_FAULTS: readonly FaultKind[] = [
  'silence',
  'late',
  'half-line',
  'garbage',
  'bit-flip',
  'nul',
  'wrong-terminator',
  'previous-answer',
  'doubled',
  'repeat',
  'glued',
  'echo',
  'decimal-comma',
  'flood',
]
/** Faults of single packets of a bus. */
export const PACKET_FAULTS: readonly FaultKind[] = [
  'lost-packet',
  'half-packet',
  'doubled-packet',
  'late-packet',
  'wrong-id',
  'noisy-packet',
]
/** Faults of a bus that act at once. */
export const BUS_FAULTS: readonly FaultKind[] = ['link-drop', 'locked-by-other', 'service-requests', 'stall']
/** Faults of measured values that hit once unless told otherwise. */
export const VALUE_FAULTS: readonly FaultKind[] = ['over-range', 'not-a-number', 'unit-swap']

/** When an ordered fault truly acted, for tests to compare a record with. */
export interface FaultRecord {
  readonly order: FaultOrder
  readonly startedUtcUs: number
  readonly startedMonoUs: number
  endedMonoUs: number | undefined
  /** Every reply or value it touched. */
  readonly hits: { monoUs: number; what: string }[]
}

export type FaultErrorCode = 'not-json' | 'not-an-order' | 'no-such-instrument' | 'not-possible'

export class FaultError extends CodedError<FaultErrorCode> {
  constructor(code: FaultErrorCode, why: Said, line?: number) {
    super(code, line === undefined ? why : said('on-line', { line, why }), { line })
  }
}
