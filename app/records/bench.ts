import { z } from 'zod'
import { BathSurvey } from './bath.ts'

const Id = z.string().min(1).max(80)

/** How an instrument is reached. */
export const LinkSpec = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('tcp'), host: z.string().min(1), port: z.int().min(1).max(65535) }),
  z.strictObject({
    kind: z.literal('serial'),
    /** Device path or COM name; found again by `usbSerial` when the name changes. */
    path: z.string().min(1),
    usbSerial: z.string().optional(),
    baud: z.int().positive().optional(),
    dataBits: z.union([z.literal(7), z.literal(8)]).optional(),
    parity: z.enum(['none', 'even', 'odd']).optional(),
    stopBits: z.union([z.literal(1), z.literal(2)]).optional(),
  }),
  z.strictObject({
    kind: z.literal('hislip'),
    host: z.string().min(1),
    port: z.int().min(1).max(65535),
    /** Sub-address: hislip0, hislip1 ... */
    device: z.string().min(1).max(40),
    /** Leaves the instrument open to other programs; absent: it is locked for this station. */
    shared: z.literal(true).optional(),
  }),
  z.strictObject({
    kind: z.literal('vxi-11'),
    host: z.string().min(1),
    /** inst0 of an instrument; gpib0,5 of one behind a gateway. */
    device: z.string().min(1).max(40),
    /** Port of the port mapper, where it is not 111. */
    portmapper: z.int().min(1).max(65535).optional(),
    shared: z.literal(true).optional(),
  }),
  z.strictObject({
    kind: z.literal('usbtmc'),
    /** Numbers of maker and product, as the device tells them. */
    vendor: z.int().min(0).max(0xffff),
    product: z.int().min(0).max(0xffff),
    /** Serial number of the device; absent: there is one of its kind. */
    serial: z.string().min(1).max(126).optional(),
    /** Another computer that shares its USB devices over the network (USB/IP); absent: it hangs on this computer. */
    sharedBy: z.strictObject({ host: z.string().min(1), port: z.int().min(1).max(65535) }).optional(),
  }),
  z.strictObject({
    kind: z.literal('visa'),
    /** As the computer's own VISA library names it: GPIB0::5::INSTR. */
    resource: z.string().min(1).max(200),
    /** File of the library; absent: the one that the system finds under its usual name. */
    library: z.string().min(1).max(500).optional(),
    shared: z.literal(true).optional(),
  }),
  z.strictObject({
    kind: z.literal('modbus-tcp'),
    host: z.string().min(1),
    port: z.int().min(1).max(65535),
    /** Which device behind the address; gateways tell theirs apart by it. */
    unit: z.int().min(0).max(255),
  }),
  z.strictObject({
    kind: z.literal('modbus-rtu'),
    path: z.string().min(1),
    usbSerial: z.string().optional(),
    baud: z.int().positive().optional(),
    parity: z.enum(['none', 'even', 'odd']).optional(),
    stopBits: z.union([z.literal(1), z.literal(2)]).optional(),
    unit: z.int().min(1).max(247),
  }),
])
export type LinkSpec = z.output<typeof LinkSpec>

export const BenchInstrument = z.strictObject({
  id: Id,
  name: z.string(),
  /** Profile id, e.g. 'lab-ratio-bridge'. */
  profile: Id,
  link: LinkSpec,
  /** Serial number the identity must show; absent: the first identity seen is kept. */
  serial: z.string().optional(),
  /** Register id of the instrument, where its calibrations are kept. */
  register: Id.optional(),
})
export type BenchInstrument = z.output<typeof BenchInstrument>

const JunctionU = z.number().nonnegative().optional()

export const CHANNEL_ROLES = ['reference', 'under-test', 'check', 'monitor'] as const

/** Units in which a channel can be shown. */
export const CHANNEL_UNITS = ['degC', 'K', 'degF', 'ohm', 'ratio', 'mV'] as const

/** One measured input: instrument + scanner address + what is connected to it + how to measure it. */
export const Channel = z.strictObject({
  id: Id,
  name: z.string(),
  role: z.enum(CHANNEL_ROLES),
  /** Bench id of the bridge or meter. */
  instrument: Id,
  /** The bridge's own input, numbered from 1. */
  input: z.int().positive().default(1),
  /** Scanners in cascade between the thermometer and the bridge, nearest the bridge first. */
  route: z.array(z.strictObject({ scanner: Id, input: z.int().positive() })).default([]),
  /** Register id of the thermometer connected. */
  thermometer: Id.optional(),
  /** Rs of the ratio: a register resistor, or another channel's thermometer. */
  reference: z
    .discriminatedUnion('kind', [
      z.strictObject({ kind: z.literal('resistor'), resistor: Id }),
      z.strictObject({ kind: z.literal('channel'), channel: Id }),
    ])
    .optional(),
  /**
   * Reference junction of a thermocouple: at a fixed temperature in degC (an ice point: 0), followed from a channel, or
   * compensated, so that what is read is as of a junction at 0 degC. `uK`: standard uncertainty of its temperature.
   */
  junction: z
    .discriminatedUnion('kind', [
      z.strictObject({ kind: z.literal('fixed'), celsius: z.number(), uK: JunctionU }),
      z.strictObject({ kind: z.literal('channel'), channel: Id, uK: JunctionU }),
      z.strictObject({ kind: z.literal('compensated'), uK: JunctionU }),
    ])
    .optional(),
  currentMa: z.number().positive().default(1),
  keepWarmMa: z.number().nonnegative().optional(),
  /** Wait after selecting the input before readings count. */
  settleMs: z.number().nonnegative().default(0),
  /** Readings taken and marked settling-discarded after each selection. */
  discard: z.int().nonnegative().default(0),
  /** Readings kept per visit. */
  readings: z.int().positive().default(1),
  /** Averaged by the instrument into one reading. */
  average: z.int().positive().default(1),
  /** Measuring range by its name in the instrument's profile; absent: as the instrument is. */
  range: z.string().min(1).max(40).optional(),
  immersionMm: z.number().positive().optional(),
  /** Unit on screens and in tables; absent: degC where a thermometer is named, else as it is read. Readings stay raw. */
  unit: z.enum(CHANNEL_UNITS).optional(),
  enabled: z.boolean().default(true),
})
export type Channel = z.output<typeof Channel>

export const BathSpec = z.strictObject({
  /** Bench id of the controller; absent: a bath set by hand, the station asks a person. */
  instrument: Id.optional(),
  name: z.string(),
  /** Register id of the fluid. */
  fluid: Id.optional(),
  lowC: z.number(),
  highC: z.number(),
  /** Where the bath is sent when something is wrong or the plan has ended. */
  safeC: z.number(),
  /** Standard uncertainties of the bath's uniformity and stability at the working depth, mK; Type B, normal. */
  uniformityMk: z.number().nonnegative().default(0),
  stabilityMk: z.number().nonnegative().default(0),
  /** Register id of the bath: its surveys, its repairs, its life. */
  register: Id.optional(),
  /** Surveys as sessions have them that were recorded before baths were in the register; others have them there. */
  surveys: z.array(BathSurvey).optional(),
})
export type BathSpec = z.output<typeof BathSpec>

/** The instruments, links, channels and limits set up at one place. */
export const Bench = z.strictObject({
  id: Id,
  name: z.string(),
  instruments: z.array(BenchInstrument),
  channels: z.array(Channel),
  bath: BathSpec.optional(),
  /** Seconds between the starts of two scans; 0: one after another. */
  scanEveryS: z.number().nonnegative().default(0),
})
export type Bench = z.output<typeof Bench>
