import { z } from 'zod'
import { MARK_NAMES } from '../../app/records/mark.ts'
import { RawUnit } from '../../app/records/reading.ts'
import { compilePattern } from '../language/pattern.ts'
import { CHECKSUM_FORMS, CHECKSUMS } from './checksum.ts'

const Ms = z.number().nonnegative().max(600_000)
const Bytes = z.string().regex(/^[^\u0100-\uffff]*$/, 'only characters that are one byte (U+0000 to U+00FF)')
const Name = z.string().regex(/^[a-z][a-z0-9-]*$/, 'lower-case words joined by hyphens')
const Pattern = z
  .string()
  .max(2_000)
  .superRefine((source, context) => {
    try {
      compilePattern(source)
    } catch (error) {
      context.addIssue({
        code: 'custom',
        message: `not a pattern that always ends (syntax of RE2: no look-around, no references back): ${(error as Error).message}`,
      })
    }
  })
const MarkName = z.enum(MARK_NAMES)

const Serial = z.strictObject({
  baud: z.int().positive().default(9600),
  dataBits: z.union([z.literal(7), z.literal(8)]).default(8),
  parity: z.enum(['none', 'even', 'odd']).default('none'),
  stopBits: z.union([z.literal(1), z.literal(2)]).default(1),
  flow: z.enum(['none', 'rtscts', 'xonxoff']).default('none'),
  dtr: z.boolean().default(true),
  rts: z.boolean().default(true),
  /** Pause after opening: some instruments restart when DTR rises. */
  afterOpenMs: Ms.default(0),
})

const LinkDefaults = z.strictObject({
  serial: Serial.prefault({}),
  tcp: z.strictObject({ port: z.int().min(1).max(65535) }).optional(),
  /** The instrument is asked something after this long without an exchange; absent: never. */
  idleS: z.number().positive().optional(),
  /** Over VXI-11 it is given a channel on which it asks for service; HiSLIP always has one. */
  serviceRequests: z.boolean().default(false),
})

const FramingRules = z.strictObject({
  /** Ends what is sent. */
  send: Bytes,
  /** Ends what is received: text, a number of bytes, or a silence. */
  receive: z.union([
    Bytes.min(1),
    z.strictObject({ length: z.int().positive() }),
    z.strictObject({ silenceMs: Ms.refine((ms) => ms > 0, 'must be above 0') }),
  ]),
  /** Stands before what is sent (an address, STX). */
  sendPrefix: Bytes.default(''),
  /** Must stand before every reply. */
  receivePrefix: Bytes.default(''),
  maxBytes: z.int().min(16).max(1_048_576).default(4096),
  /** The instrument repeats each line before it answers. */
  echo: z.boolean().default(false),
  /** Sent without terminator when the instrument is ready for the next line. */
  prompt: Bytes.min(1).optional(),
  /** Replies that come without a terminator (ACK, NAK). */
  tokens: z.array(Bytes.min(1)).default([]),
  /** Replies may be definite-length blocks. */
  blocks: z.boolean().default(false),
  /** ascii refuses bytes above 126 and control characters in replies: they show a wrong baud rate or noise. */
  characters: z.enum(['ascii', 'latin1']).default('ascii'),
  /** Sent before each line; the line follows once the answer is there. */
  handshake: z.strictObject({ ask: Bytes.min(1), expect: Bytes.min(1) }).optional(),
  /** Sent after each reply was received. */
  thank: Bytes.min(1).optional(),
})

const Checksum = z.strictObject({
  kind: z.enum(CHECKSUMS),
  form: z.enum(CHECKSUM_FORMS).default('hex-upper'),
  on: z.enum(['both', 'sent', 'received']).default('both'),
  /** Stands between the text and the check value. */
  mark: Bytes.default(''),
})

const Timing = z.strictObject({
  firstByteMs: Ms.default(1000),
  interByteMs: Ms.default(200),
  replyMs: Ms.default(3000),
  /** How late an answer may come at worst: so long the link is drained after a missed one. */
  lateMs: Ms.default(1000),
  gapMs: Ms.default(0),
  gapAfterSetMs: Ms.default(0),
  /** Silence that counts as the end of leftovers. */
  quietMs: Ms.refine((ms) => ms > 0, 'must be above 0').default(50),
})

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
  /** Words sent in place of numbers, or of on and off. */
  words: z.record(z.string(), z.string()).optional(),
})
export type Parameter = z.output<typeof Parameter>

/** A reply that is a number and nothing else. */
export const BARE_NUMBER = '^\\s*(?<value>\\S+)\\s*$'

const UnitOf = z.strictObject({ unit: RawUnit, power: z.int().min(-12).max(12).default(0) })

/** How a value is found in a reply. */
const ValueRule = z.strictObject({
  kind: z.literal('value'),
  /** Takes one part of a reply of several: parts are split at the separator. */
  field: z.strictObject({ separator: z.string().min(1), index: z.int().nonnegative() }).optional(),
  /** Named groups: value, and where there are any unit, status, input. */
  pattern: Pattern.default(BARE_NUMBER),
  unit: RawUnit,
  /** Unit letters the reply may carry and what they mean. A unit not listed makes the reply unreadable. */
  units: z.record(z.string(), UnitOf).optional(),
  comma: z.boolean().default(false),
  /** The reply is a block, or begins with one; the last line inside counts. */
  block: z.boolean().default(false),
  /** Texts in place of a number. */
  specials: z.record(z.string(), MarkName).default({}),
  /** Status letters that put a mark on the reading. */
  status: z.record(z.string(), MarkName).default({}),
})
export type ValueRule = z.output<typeof ValueRule>

const Answer = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('none') }),
  z.strictObject({ kind: z.literal('acknowledge'), pattern: Pattern }),
  z.strictObject({ kind: z.literal('text'), pattern: Pattern.default('^.*$') }),
  /** A register; `pattern` has the group bits where more stands around it. */
  z.strictObject({
    kind: z.literal('bits'),
    base: z.union([z.literal(10), z.literal(16)]).default(10),
    pattern: Pattern.default('^(?<bits>.*)$'),
  }),
  ValueRule,
])
export type Answer = z.output<typeof Answer>

const RISKS = ['read-only', 'setting', 'hazardous'] as const

const Command = z.strictObject({
  doc: z.string().regex(/^(Control|Get|Measure|Set) /, 'begins with Control, Get, Measure or Set'),
  /** The line, parameters in braces. In the language scpi headers are written with their long forms: SOURce:CURRent {current}. */
  send: z.string(),
  risk: z.enum(RISKS),
  parameters: z.record(Name, Parameter).default({}),
  answer: Answer.prefault({ kind: 'none' }),
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

/** One value in the registers of a Modbus device. */
const Register = z.strictObject({
  table: z.enum(['holding', 'input']),
  /** As it goes over the line: the first register is 0 (manuals often count from 1, or from 40001). */
  address: z.int().min(0).max(65535),
  type: z.enum(['uint16', 'int16', 'uint32', 'int32', 'float32', 'text']),
  /** Of two words, which one has the lower address. */
  words: z.enum(['high-first', 'low-first']).default('high-first'),
  /** Registers of a text, two characters each. */
  length: z.int().min(1).max(60).default(1),
  /** The value is the number in the register times ten to this. */
  power: z.int().min(-9).max(9).default(0),
})

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

const Quantity = z.strictObject({ group: z.string(), unit: RawUnit })

const Stream = z.strictObject({
  /** One telegram: groups for the values, and `count` where telegrams are numbered. */
  pattern: Pattern,
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
  with: z.record(z.string(), z.union([z.number(), z.boolean()])).default({}),
  /** Lines "> sent" and "< received", bytes as they are, terminators included; "wait N" lets N ms pass. */
  lines: z.array(z.string().regex(/^(?:[<>] |wait \d+$)/)),
  /** What the caller gets: the value's text, or the marks, or the code of the error. */
  gives: z
    .strictObject({
      value: z.string().optional(),
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
  'ratio-bridge': { must: ['measure'], may: ['select-input', 'set-current', 'set-average', 'keep-warm'] },
  meter: { must: ['measure'], may: ['select-input', 'set-current', 'set-average', 'keep-warm'] },
  scanner: { must: ['select'], may: ['keep-warm'] },
  bath: { must: ['set-setpoint', 'read-setpoint', 'read-temperature'], may: ['output'] },
  environment: { must: [], may: ['read-all'] },
} as const

/** Parameters a capability hands to its commands. */
export const CAPABILITY_PARAMETERS: Record<string, readonly string[]> = {
  'select-input': ['input'],
  'set-current': ['current'],
  'set-average': ['average'],
  'keep-warm': ['input', 'current'],
  measure: ['input', 'average'],
  select: ['input'],
  'set-setpoint': ['celsius'],
  output: ['on'],
}

export const Profile = z.strictObject({
  format: z.literal('stillpoint profile 1'),
  id: Name,
  title: z.string().min(1),
  about: z.string().default(''),
  role: z.enum(['ratio-bridge', 'scanner', 'bath', 'meter', 'environment']),
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
  prepare: z.array(Name).default([]),
  watch: Watch.optional(),
  errors: Errors.prefault({ kind: 'none' }),
  /** Of a Modbus device: its lines are "name?" and "name value" (docs/buses.md). */
  registers: z.record(Name, Register).optional(),
  inputs: Inputs.optional(),
  /** Unit of what a bridge or meter measures. */
  unit: RawUnit.optional(),
  commands: z.record(Name, Command),
  /** Each capability is a list of commands, done in order; the last value answered is the result. */
  capabilities: z.record(Name, z.array(Name).min(1)).default({}),
  /** Where each quantity of an environment sensor stands. */
  quantities: z.partialRecord(z.enum(['air-temperature', 'humidity', 'pressure']), Quantity).optional(),
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
