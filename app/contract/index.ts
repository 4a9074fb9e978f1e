import { eventIterator, oc } from '@orpc/contract'
import { z } from 'zod'
import { CheckRequest } from '../comparison/check-request.ts'
import { Bench, BenchInstrument, LinkSpec } from '../records/bench.ts'
import { Plan } from '../records/plan.ts'
import { Point } from '../records/point.ts'
import { Fluid, InstrumentRecord, Register, Resistor, Thermometer } from '../records/register.ts'
import { SessionEvent, SessionInfo, SessionSetup } from '../records/session.ts'
import { CellSaid, CHART_KINDS, ChartView, MeasuredWtpView, PlateauView } from './checks.ts'
import { AlarmRules, Settings } from './settings.ts'
import {
  ArchiveRow,
  Comparison,
  FitView,
  LedgerEntry,
  PlanPreview,
  ProfileRow,
  Thread,
  VerifyResult,
} from './studies.ts'
import { TableLook, TableMeaning } from './tables.ts'
import { AlarmView, LinkView, StationState } from './views.ts'

/**
 * What a window may ask of the station, and what it is told. Declared once; both ends derive from it and both ends
 * parse. Binary answers are column buffers (columns.ts) in a Blob.
 *
 * Expected refusals are typed errors with a sentence; anything else is a fault.
 */

const refusal = { data: z.strictObject({ words: z.string() }) }
const base = oc.errors({ REFUSED: refusal, NOT_FOUND: refusal, FORBIDDEN: refusal, BUSY: refusal })

const Id = z.string().min(1).max(200)
const Ok = z.strictObject({ words: z.string() })
const Why = z.string().max(2000)
/** The runtime's own Blob, as far as the contract needs it. */
declare const Blob: { new (): { readonly size: number; arrayBuffer(): Promise<ArrayBuffer> } }
const Bytes = z.instanceof(Blob)
export const QUANTITIES = ['raw', 'resistance', 'temperature', 'deviation'] as const
const QuantityName = z.enum(QUANTITIES)
const Stretch = { session: Id, fromUtcUs: z.int().optional(), toUtcUs: z.int().optional() }

export const contract = {
  station: {
    /** The state now and again whenever it changes, at most about four times a second. */
    watch: base.output(eventIterator(StationState)),
    state: base.output(StationState),
    /** What somebody who helps needs to see, gzipped JSON; no secret is in it. */
    support: base.output(Bytes),
  },
  live: {
    /**
     * Readings committed after `after` (0: the last `backlog` seconds), as columns seq u32, channel u8/u32 (index into
     * meta.channels), utcS f64, monoS f64, raw f64, resistance f64, temperature f64, marks u32 (bit i: MARK_NAMES[i]).
     * Waits up to `waitMs` for the first one. meta: {session, channels: string[], last: number}.
     */
    next: base
      .input(
        z.strictObject({
          after: z.int().nonnegative(),
          backlogS: z.number().positive().max(86_400).default(3600),
          waitMs: z.int().min(0).max(10_000).default(1000),
          most: z.int().positive().max(200_000).default(50_000),
        }),
      )
      .output(Bytes),
  },
  history: {
    /** Pyramid query: columns t f64 (s, UTC), min f64, max f64, mean f64, n u32 per bucket; empty buckets left out. */
    overview: base
      .input(
        z.strictObject({
          ...Stretch,
          channel: Id,
          quantity: QuantityName,
          buckets: z.int().min(10).max(10_000),
        }),
      )
      .output(Bytes),
    /** Single readings of a stretch: columns seq, utcS, value, marks and raw (text). */
    readings: base
      .input(
        z.strictObject({
          ...Stretch,
          channel: Id,
          quantity: QuantityName,
          most: z.int().positive().max(100_000),
        }),
      )
      .output(Bytes),
    statistics: base.input(z.strictObject({ ...Stretch, channel: Id, quantity: QuantityName })).output(
      z.strictObject({
        n: z.int(),
        leftOut: z.int(),
        mean: z.number().nullable(),
        sd: z.number().nullable(),
        nEffective: z.number().nullable(),
        standardError: z.number().nullable(),
        driftPerMin: z.number().nullable(),
        driftUncertaintyPerMin: z.number().nullable(),
        span: z.number().nullable(),
        allan: z.array(z.strictObject({ tauS: z.number(), deviation: z.number() })),
        unit: z.string(),
      }),
    ),
    events: base
      .input(
        z.strictObject({
          session: Id,
          kinds: z.array(SessionEvent.shape.kind).optional(),
          most: z.int().positive().max(10_000).default(1000),
        }),
      )
      .output(z.array(SessionEvent)),
  },
  bench: {
    get: base.output(Bench.nullable()),
    list: base.output(z.array(z.strictObject({ id: z.string(), name: z.string() }))),
    save: base.input(z.strictObject({ bench: Bench, why: Why.default('') })).output(Ok),
    choose: base.input(z.strictObject({ id: Id })).output(Ok),
    /** Serial ports and what is known of them, with a hint where one cannot be opened. */
    ports: base.output(
      z.array(
        z.strictObject({
          path: z.string(),
          usbSerial: z.string().nullable(),
          words: z.string(),
          usable: z.boolean(),
        }),
      ),
    ),
    profiles: base.output(z.array(ProfileRow)),
    /** Opens the link aside from any session, identifies, tries each capability, closes. */
    tryInstrument: base
      .input(z.strictObject({ instrument: BenchInstrument }))
      .output(z.array(z.strictObject({ what: z.string(), worked: z.boolean(), words: z.string() }))),
    connect: base.output(z.array(LinkView)),
    disconnect: base.output(Ok),
    /** Starts a lab in a box beside the station and makes its bench, register and plan the current ones. */
    startLab: base
      .input(z.strictObject({ seed: z.int().default(1), scenario: z.string().default('demo') }))
      .output(Ok),
    adviseResistor: base
      .input(
        z.strictObject({
          thermometer: Id,
          lowC: z.number(),
          highC: z.number(),
          wantedMk: z.number().positive(),
        }),
      )
      .output(
        z.array(
          z.strictObject({
            resistor: Id,
            name: z.string(),
            serves: z.boolean(),
            partMk: z.number().nullable(),
            words: z.string(),
          }),
        ),
      ),
    findHosts: base
      .input(z.strictObject({ host: z.string(), ports: z.array(z.int()).max(32) }))
      .output(
        z.array(z.strictObject({ link: LinkSpec, identity: z.string(), profile: z.string().nullable() })),
      ),
  },
  plan: {
    list: base.output(z.array(Plan)),
    save: base.input(z.strictObject({ plan: Plan, why: Why.default('') })).output(Ok),
    remove: base.input(z.strictObject({ id: Id })).output(Ok),
    preview: base.input(z.strictObject({ plan: Plan })).output(PlanPreview),
  },
  run: {
    start: base
      .input(
        z.strictObject({
          plan: Id,
          operator: z.string().min(1).max(200),
          name: z.string().max(200).default(''),
          note: z.string().max(4000).default(''),
          job: SessionSetup.shape.job.default(null),
          /** Warnings of the preview that the person has read and takes on. */
          accept: z.array(z.string()).default([]),
        }),
      )
      .output(z.strictObject({ session: z.string() })),
    /** Records without a plan, until stopped. */
    record: base
      .input(z.strictObject({ operator: z.string().min(1), name: z.string().default('') }))
      .output(z.strictObject({ session: z.string() })),
    pause: base.input(z.strictObject({ who: z.string(), why: Why })).output(Ok),
    resume: base.input(z.strictObject({ who: z.string() })).output(Ok),
    takeNow: base.input(z.strictObject({ who: z.string(), why: Why.min(1) })).output(Ok),
    skip: base.input(z.strictObject({ who: z.string(), why: Why.min(1) })).output(Ok),
    stop: base.input(z.strictObject({ who: z.string(), why: Why.min(1) })).output(Ok),
    answer: base.input(z.strictObject({ question: Id, choice: z.string(), who: z.string() })).output(Ok),
    note: base.input(z.strictObject({ who: z.string(), words: z.string().min(1).max(4000) })).output(Ok),
  },
  points: {
    list: base.input(z.strictObject({ session: Id })).output(z.array(Point)),
    fits: base.input(z.strictObject({ session: Id })).output(z.array(FitView)),
    /** The whole report content as data (the JSON of the results folder). */
    report: base.input(z.strictObject({ session: Id })).output(z.record(z.string(), z.unknown())),
    reportHtml: base.input(z.strictObject({ session: Id })).output(z.string()),
    reportPdf: base
      .input(z.strictObject({ session: Id, paper: z.enum(['A4', 'Letter']).default('A4') }))
      .output(Bytes),
    reportXml: base.input(z.strictObject({ session: Id })).output(z.string()),
    /** Unfolds a number: formula, inputs, readings, calibrations. Keys come from the report content. */
    thread: base.input(z.strictObject({ session: Id, key: z.string() })).output(Thread),
    signOff: base
      .input(
        z.strictObject({
          session: Id,
          person: z.string().min(1),
          password: z.string(),
          remark: z.string().default(''),
        }),
      )
      .output(Ok),
    leaveOut: base
      .input(
        z.strictObject({
          session: Id,
          point: Id,
          channel: Id.optional(),
          who: z.string(),
          why: Why.min(1),
          restore: z.boolean().default(false),
        }),
      )
      .output(Ok),
  },
  archive: {
    sessions: base
      .input(
        z.strictObject({ search: z.string().default(''), most: z.int().positive().max(1000).default(200) }),
      )
      .output(z.array(ArchiveRow)),
    open: base.input(z.strictObject({ session: Id })).output(
      z.strictObject({
        info: SessionInfo,
        setup: SessionSetup,
        readings: z.int(),
        lastUtcUs: z.int().nullable(),
        /** When its copy in the backup folder was made; null where there is none, or the session was added to since. */
        copiedUtcUs: z.number().nullable(),
      }),
    ),
    verify: base.input(z.strictObject({ session: Id })).output(VerifyResult),
    compare: base
      .input(z.strictObject({ session: Id, with: z.enum(['now']).or(z.strictObject({ session: Id })) }))
      .output(Comparison),
    annotate: base
      .input(z.strictObject({ session: Id, who: z.string(), words: z.string().min(1) }))
      .output(Ok),
    /** Takes the records of now into an ended session, by the custodian: a correction that makes a new version. */
    takeRecordsOfNow: base
      .input(z.strictObject({ session: Id, token: z.string(), why: Why.min(1) }))
      .output(Ok),
    export: base
      .input(
        z.strictObject({
          session: Id,
          format: z.enum([
            'csv',
            'csv-semicolon',
            'jsonl',
            'parquet',
            'sqlite',
            'json',
            'dcc',
            'html',
            'pdf',
          ]),
        }),
      )
      .output(Bytes),
    backup: base.input(z.strictObject({ session: Id })).output(Ok),
    /** What the first lines of a table recorded elsewhere look like. */
    lookAtTable: base.input(z.strictObject({ beginning: z.string().max(1_000_000) })).output(TableLook),
    /** Makes a session of such a table, up to 24 MB; a larger one goes through the command `stillpoint import`. */
    importTable: base
      .input(
        z.strictObject({
          table: Bytes,
          file: z.string().min(1).max(200),
          name: z.string().min(1).max(200),
          operator: z.string().min(1),
          meaning: TableMeaning,
        }),
      )
      .output(z.strictObject({ session: Id, words: z.string() })),
    /** Replays a stored session to the window: state as it was, at `speed` times real time, until cancelled. */
    replay: base
      .input(
        z.strictObject({
          session: Id,
          speed: z.number().positive().max(100_000),
          fromUtcUs: z.int().optional(),
          coefficients: z.enum(['then', 'now']).default('then'),
        }),
      )
      .output(eventIterator(StationState)),
  },
  register: {
    get: base.output(Register),
    saveThermometer: base
      .input(z.strictObject({ entry: Thermometer, token: z.string(), why: Why }))
      .output(Ok),
    saveResistor: base.input(z.strictObject({ entry: Resistor, token: z.string(), why: Why })).output(Ok),
    saveInstrument: base
      .input(z.strictObject({ entry: InstrumentRecord, token: z.string(), why: Why }))
      .output(Ok),
    saveFluid: base.input(z.strictObject({ entry: Fluid, token: z.string(), why: Why })).output(Ok),
    /** Checks an entry against typing errors: W at the fixed points, IEC limits, date order. */
    checkThermometer: base
      .input(z.strictObject({ entry: Thermometer }))
      .output(z.array(z.strictObject({ severity: z.enum(['note', 'warning', 'error']), words: z.string() }))),
    /** Takes a save back: what stood before that ledger entry is saved again, as a change of its own with its reason. */
    restore: base
      .input(z.strictObject({ ledger: z.int().positive(), token: z.string(), why: Why.min(1) }))
      .output(Ok),
    dueDates: base.output(
      z.array(
        z.strictObject({ entry: Id, name: z.string(), due: z.string(), days: z.int(), words: z.string() }),
      ),
    ),
    ledger: base
      .input(
        z.strictObject({ subject: z.string().optional(), most: z.int().positive().max(5000).default(500) }),
      )
      .output(z.array(LedgerEntry)),
    hasCustodian: base.output(z.boolean()),
    /** First start: sets the custodian. Later: gives a token for an hour. */
    custodian: base
      .input(z.strictObject({ name: z.string().min(1), password: z.string().min(8).max(200) }))
      .output(z.strictObject({ token: z.string(), words: z.string() })),
    importFile: base
      .input(z.strictObject({ text: z.string().max(20_000_000), token: z.string(), why: Why }))
      .output(Ok),
    exportFile: base.input(z.strictObject({ format: z.enum(['json', 'csv']) })).output(z.string()),
  },
  checks: {
    /** Takes the R(WTP) that an ended session measured, of the reference and of those under test, into the register. */
    takeWtp: base.input(z.strictObject({ session: Id, token: z.string(), why: Why })).output(Ok),
    /** Takes the fit of a signed-off session into the register as a calibration of the thermometer under test. */
    enterCalibration: base
      .input(
        z.strictObject({
          session: Id,
          channel: Id,
          token: z.string(),
          why: Why,
          /** Number of the certificate; the report's own where left out. */
          certificate: z.string().max(200).optional(),
        }),
      )
      .output(Ok),
    /** R(WTP) that an ended session measured, before it is taken. */
    measuredWtp: base.input(z.strictObject({ session: Id })).output(z.array(MeasuredWtpView)),
    /** The record of a channel in a fixed-point cell, and the plateau in it with all that corrects it. */
    plateau: base
      .input(
        z.strictObject({
          session: Id,
          channel: Id,
          cell: CellSaid,
          /** R(WTP) at zero current, where a plateau of the set knows better than the records. */
          rWtp: z.number().positive().optional(),
        }),
      )
      .output(PlateauView),
    /** Writes the result of a check into the register. It is worked out again here from what the request says. */
    record: base
      .input(z.strictObject({ request: CheckRequest, token: z.string(), why: Why.min(1) }))
      .output(Ok),
    /** Has the lab in a box record sessions to practise on, as fast as they can be worked out. */
    practise: base
      .input(
        z.strictObject({
          what: z.enum(['cells', 'bridge']),
          seed: z
            .int()
            .min(0)
            .max(2 ** 31)
            .default(1),
        }),
      )
      .output(Ok),
    /** Control chart of an entry of the register. `celsius`: check thermometers near one temperature only. */
    history: base
      .input(
        z.strictObject({ kind: z.enum(CHART_KINDS), id: Id, celsius: z.number().nullable().default(null) }),
      )
      .output(ChartView),
  },
  wire: {
    /** Traffic of one link, or of all, from `backlog` lines back and then as it happens. */
    traffic: base
      .input(z.strictObject({ instrument: Id.optional(), backlog: z.int().min(0).max(5000).default(200) }))
      .output(
        eventIterator(
          z.strictObject({
            instrument: z.string(),
            utcUs: z.int(),
            direction: z.enum(['sent', 'received', 'note']),
            text: z.string(),
          }),
        ),
      ),
    /** `override` is needed while the link runs a session. */
    converse: base
      .input(
        z.strictObject({
          instrument: Id,
          line: z.string().min(1).max(1000),
          who: z.string(),
          override: z.boolean().default(false),
        }),
      )
      .output(z.strictObject({ reply: z.string().nullable() })),
  },
  alarms: {
    list: base
      .input(z.strictObject({ most: z.int().positive().max(1000).default(100) }))
      .output(z.array(AlarmView)),
    acknowledge: base.input(z.strictObject({ id: Id, who: z.string().min(1) })).output(Ok),
    rules: base.output(AlarmRules),
    saveRules: base.input(z.strictObject({ rules: AlarmRules, who: z.string() })).output(Ok),
  },
  settings: {
    get: base.output(Settings),
    save: base.input(z.strictObject({ settings: Settings, who: z.string() })).output(Ok),
    /** How far each target that sessions are sent on to has got. */
    forwarding: base.output(
      z.array(
        z.strictObject({
          kind: z.enum(['mqtt', 'postgres']),
          state: z.enum(['up-to-date', 'sending', 'waiting']),
          /** Readings not sent yet. */
          behind: z.int(),
          words: z.string(),
        }),
      ),
    ),
  },
}
export type Contract = typeof contract
