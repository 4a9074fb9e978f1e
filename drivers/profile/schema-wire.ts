import { z } from 'zod'
import { REGISTER_TYPES } from '../link/registers.ts'
import { CHECKSUM_FORMS, CHECKSUMS } from './checksum.ts'
import { Bytes, Ms, Pattern } from './schema-basics.ts'

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

export const LinkDefaults = z.strictObject({
  serial: Serial.prefault({}),
  tcp: z.strictObject({ port: z.int().min(1).max(65535) }).optional(),
  /** The instrument is asked something after this long without an exchange; absent: never. */
  idleS: z.number().positive().optional(),
  /** Over VXI-11 it is given a channel on which it asks for service; HiSLIP always has one. */
  serviceRequests: z.boolean().default(false),
})

export const FramingRules = z.strictObject({
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
  /** The instrument repeats each line before it answers: always, never, or as it was left set. */
  echo: z.union([z.boolean(), z.literal('sometimes')]).default(false),
  /** Lines that may come at any time and mean nothing here. */
  ignore: z.array(Pattern).max(20).default([]),
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

export const Checksum = z.strictObject({
  kind: z.enum(CHECKSUMS),
  form: z.enum(CHECKSUM_FORMS).default('hex-upper'),
  on: z.enum(['both', 'sent', 'received']).default('both'),
  /** Stands between the text and the check value. */
  mark: Bytes.default(''),
})

export const Timing = z.strictObject({
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

/** One value in the registers of a Modbus device. */
export const Register = z.strictObject({
  table: z.enum(['holding', 'input']),
  /** As it goes over the line: the first register is 0 (manuals often count from 1, or from 40001). */
  address: z.int().min(0).max(65535),
  type: z.enum(REGISTER_TYPES),
  /** Of several words, which one has the lowest address. */
  words: z.enum(['high-first', 'low-first']).default('high-first'),
  /** Of the two bytes of a word, which one comes first on the line. */
  bytes: z.enum(['high-first', 'low-first']).optional(),
  /** Registers of a text, two characters each. */
  length: z.int().min(1).max(60).default(1),
  /** The value is the number in the register times ten to this. */
  power: z.int().min(-9).max(9).default(0),
})
