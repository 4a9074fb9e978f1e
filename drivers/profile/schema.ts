import { z } from 'zod'
import { RawUnit } from '../../app/records/reading.ts'
import { Answer, Linear, ValueWords } from './schema-answers.ts'
import { MarkName, Ms, Name, Pattern } from './schema-basics.ts'
import { NoneOrMoreSteps, Steps } from './schema-steps.ts'
import { Checksum, FramingRules, LinkDefaults, Register, Timing } from './schema-wire.ts'

const Parameter = z.strictObject({
  /** Unit in which low, high and the caller's value are. */
  unit: z.string().optional(),
  low: z.number().optional(),
  high: z.number().optional(),
  decimals: z.int().min(0).max(12).optional(),
  significant: z.int().min(1).max(15).optional(),
  power: z.int().min(-12).max(12).optional(),
  comma: z.boolean().optional(),
  width: z.int().min(1).max(12).optional(),
  /** Words sent in place of numbers, of on and off, or of the names of ranges. */
  words: z.record(z.string(), z.string()).optional(),
  /** From the instrument's number to the unit above; it is sent the other way. */
  linear: Linear.optional(),
})
export type Parameter = z.output<typeof Parameter>

const RISKS = ['read-only', 'setting', 'hazardous'] as const

const Command = z.strictObject({
  /** What it does or tells, for people. */
  doc: z.string().min(1),
  /** The line, parameters in braces. In the language scpi headers are written with their long forms: SOURce:CURRent {current}. */
  send: z.string(),
  risk: z.enum(RISKS),
  parameters: z.record(Name, Parameter).default({}),
  answer: Answer.prefault({ kind: 'none' }),
  /**
   * Starts a measurement that was armed: on a bus with a message of its own for this it goes out as that (HiSLIP Trigger, VXI-11
   * device_trigger, USB488 TRIGGER, viAssertTrigger), elsewhere as the line, `*TRG` in IEEE 488.2.
   */
  trigger: z.boolean().default(false),
  /** Longest wait for the first byte, where it differs from the profile's. */
  deadlineMs: Ms.optional(),
  /** Work of the instrument before it answers, for each reading it averages. */
  takesMs: Ms.optional(),
  /** Least pause after it before the next line. */
  pauseMs: Ms.optional(),
  /** Asked again and again until the answer is so. */
  poll: z
    .strictObject({
      everyMs: Ms.refine((ms) => ms > 0, 'must be above 0'),
      longestMs: Ms,
      /** Bits that must be 1, bits that must be 0 (for an answer of bits). */
      set: z.int().nonnegative().default(0),
      clear: z.int().nonnegative().default(0),
      /** Whole answer (for any other). */
      equals: z.string().optional(),
      /** Asked when the instrument requests service, and every `everyMs` where it does not. */
      onRequest: z.boolean().default(false),
    })
    .optional(),
  /** Asked afterwards; a value must agree with the parameter within `within`, another answer must equal `equals`. */
  confirm: z
    .strictObject({
      ask: Name,
      parameter: Name.optional(),
      within: z.number().nonnegative().optional(),
      equals: z.string().optional(),
    })
    .optional(),
  /** The instrument answers the request before this one: it is asked twice and the second answer counts. */
  answersPrevious: z.boolean().default(false),
})
export type Command = z.output<typeof Command>

const Inputs = z.strictObject({
  count: z.int().positive().max(10_000),
  /** Number of input 1 in the instrument's own counting. */
  first: z.int().nonnegative().default(1),
  /** Inputs of one slot; the next slot begins slotStep higher. */
  perSlot: z.int().positive().optional(),
  slotStep: z.int().positive().optional(),
  /** Digits, padded with zeros. */
  width: z.int().positive().max(8).optional(),
  /** Names in place of numbers, input 1 first. */
  names: z.array(z.string().min(1)).optional(),
})
export type Inputs = z.output<typeof Inputs>

const Watch = z.strictObject({
  /** The register that tells of errors and power cuts. */
  ask: Name,
  /** Bits that mean: switched on since last asked. */
  powerUp: z.int().nonnegative().default(0),
  /** Bits that mean: an error is kept. */
  error: z.int().nonnegative().default(0),
  /** Bits that put a mark on a reading. */
  marks: z.array(z.strictObject({ bits: z.int().positive(), mark: MarkName, words: z.string() })).default([]),
  after: z.array(z.enum(['set', 'read'])).default(['set', 'read']),
})

const Errors = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('none') }),
  /** A queue as of SCPI, read until empty. */
  z.strictObject({ kind: z.literal('queue'), ask: Name }),
  /** An error comes in place of the reply. `code` is a group of the pattern. */
  z.strictObject({
    kind: z.literal('reply'),
    pattern: Pattern,
    /** Asked after an error bit was seen. */
    ask: Name.optional(),
    meanings: z
      .record(
        z.string(),
        z.strictObject({ words: z.string(), do: z.enum(['mark', 'retry', 'reinit']).default('mark') }),
      )
      .default({}),
  }),
])

const Quantity = z.strictObject({ group: z.string(), unit: RawUnit, linear: Linear.optional() })

const Stream = z.strictObject({
  /** One telegram: groups for the values, `count` where telegrams are numbered, `time` where they tell theirs. */
  pattern: Pattern,
  /** The group `time` times ten to this is in seconds, of the instrument's own count. */
  timePower: z.int().min(-12).max(12).optional(),
  /** Of a meter: how the number of a telegram is read. */
  value: ValueWords.optional(),
  /** How long the instrument works on a value before it tells it. */
  takesMs: Ms.optional(),
  longestSilenceS: z.number().positive().max(3600),
  /** A telegram this old is still current. */
  freshS: z.number().positive().max(3600),
  /** The number of a telegram after power-up, and the one after which counting starts at 0. */
  countAtPowerUp: z.int().nonnegative().optional(),
  countHighest: z.int().positive().optional(),
})

const TranscriptPart = z.strictObject({
  doc: z.string(),
  /** What the caller does: open, measure, select, set-setpoint, read-setpoint, read-temperature, keep-warm, output, read-all. */
  call: z.string(),
  /** The part of the case it is done on; left out: its main instrument. */
  part: Name.optional(),
  with: z.record(z.string(), z.union([z.number(), z.boolean(), z.string()])).default({}),
  /** Lines "> sent" and "< received", bytes as they are, terminators included; "wait N" lets N ms pass. */
  lines: z.array(z.string().regex(/^(?:[<>] |wait \d+$)/)),
  /** What the caller gets: the value's text, or the marks, or the code of the error. */
  gives: z
    .strictObject({
      value: z.string().optional(),
      /** What else came with the same answer, in its order. */
      row: z.array(z.string()).optional(),
      values: z.record(z.string(), z.string()).optional(),
      unit: RawUnit.optional(),
      marks: z.array(MarkName).optional(),
      error: z.string().optional(),
      serial: z.string().optional(),
    })
    .default({}),
})
export type TranscriptPart = z.output<typeof TranscriptPart>

/** Capabilities by role: those a role must have, and those it may have. */
export const CAPABILITIES = {
  'ratio-bridge': {
    must: ['measure'],
    may: ['select-input', 'set-current', 'set-average', 'set-range', 'keep-warm'],
  },
  meter: { must: ['measure'], may: ['select-input', 'set-current', 'set-average', 'set-range', 'keep-warm'] },
  scanner: { must: ['select'], may: ['keep-warm'] },
  bath: { must: ['set-setpoint', 'read-setpoint', 'read-temperature'], may: ['output'] },
  environment: { must: [], may: ['read-all'] },
} as const

/** Parameters a capability hands to its commands. */
export const CAPABILITY_PARAMETERS: Record<string, readonly string[]> = {
  'select-input': ['input'],
  'set-current': ['current'],
  'set-average': ['average'],
  'set-range': ['range'],
  'keep-warm': ['input', 'current'],
  measure: ['input', 'average'],
  select: ['input'],
  'set-setpoint': ['celsius'],
  output: ['on'],
}

const ROLES = ['ratio-bridge', 'scanner', 'bath', 'meter', 'environment'] as const

/** A measuring range. Its accuracy is what the maker states: of the reading and of `upTo`, both in 1E-6. */
const Range = z.strictObject({
  /** What people call it; the command of `set-range` has a word for it. */
  name: z.string().min(1).max(40),
  /** Largest size of a value in it, in the instrument's unit; absent where the instrument finds the range itself. */
  upTo: z.number().positive().optional(),
  /** Pause after it was set. */
  pauseMs: Ms.default(0),
  accuracy: z
    .strictObject({ readingPpm: z.number().nonnegative(), rangePpm: z.number().nonnegative() })
    .optional(),
})
export type Range = z.output<typeof Range>

const Capabilities = z.record(Name, Steps)
const Quantities = z.partialRecord(z.enum(['air-temperature', 'humidity', 'pressure']), Quantity)

/** A second instrument in the same case, on the same line: what it is, and what it can do. */
const Part = z.strictObject({
  title: z.string().min(1),
  role: z.enum(ROLES),
  unit: RawUnit.optional(),
  inputs: Inputs.optional(),
  ranges: z.array(Range).max(40).optional(),
  quantities: Quantities.optional(),
  capabilities: Capabilities,
})

/** Format 2 has all words of format 1 and more; a file says which one it is written in. */
export const FORMATS = ['stillpoint profile 1', 'stillpoint profile 2'] as const

export const Profile = z.strictObject({
  format: z.enum(FORMATS),
  id: Name,
  title: z.string().min(1),
  about: z.string().default(''),
  role: z.enum(ROLES),
  language: z.enum(['scpi', 'plain']),
  link: LinkDefaults.prefault({}),
  framing: FramingRules,
  checksum: Checksum.optional(),
  timing: Timing.prefault({}),
  identity: z.strictObject({
    /** Absent for an instrument that only talks: its first telegram is its identity. */
    ask: Name.optional(),
    /** Groups maker, model, serial, firmware. */
    pattern: Pattern,
    /** Firmware known to work; another one is noted, not refused. */
    firmware: Pattern.optional(),
  }),
  /** What shows that the instrument was switched off and on without being told. */
  powerUpMessage: Pattern.optional(),
  /** Commands sent after every identification and every power cut, in this order. */
  prepare: NoneOrMoreSteps.default([]),
  watch: Watch.optional(),
  errors: Errors.prefault({ kind: 'none' }),
  /** Of a Modbus device: its lines are "name?" and "name value" (docs/buses.md). */
  registers: z.record(Name, Register).optional(),
  inputs: Inputs.optional(),
  /** Unit of what a bridge or meter measures. */
  unit: RawUnit.optional(),
  commands: z.record(Name, Command),
  /** Each capability is a list of steps, done in order; the last value answered is the result. */
  capabilities: Capabilities.default({}),
  /** Where each quantity of an environment sensor stands. */
  quantities: Quantities.optional(),
  /** Measuring ranges, as `set-range` sets them. */
  ranges: z.array(Range).max(40).optional(),
  /** What else is in the same case: a bath's reference thermometer, a bridge's scanner. */
  parts: z.record(Name, Part).optional(),
  stream: Stream.optional(),
  /** What may be typed: lines not in this profile, which it cannot judge, are refused unless `allow`. */
  typed: z.strictObject({ unknown: z.enum(['allow', 'refuse']) }).prefault({ unknown: 'refuse' }),
  /** What the maker states; for people. */
  stated: z.array(z.string()).default([]),
  transcript: z.array(TranscriptPart).default([]),
})
export type Profile = z.output<typeof Profile>
/** A profile as it is written, defaults left out. */
export type ProfileText = z.input<typeof Profile>
