import { z } from 'zod'
import { Bath } from '../records/bath.ts'
import { Cell } from '../records/cell.ts'
import { SignerStatements } from '../records/certificate.ts'
import { Fluid, InstrumentRecord, Register, Resistor, Thermometer } from '../records/register.ts'
import { Bytes, base, Id, Ok, Why } from './call.ts'
import { CheckRequest } from './check-request.ts'
import { CellSaid, CHART_KINDS, ChartView, MeasuredWtpView, PlateauView } from './checks.ts'
import { LIFE_KINDS, LifeView } from './life.ts'
import {
  DueLine,
  LedgerLine,
  pageAsked,
  pageOf,
  RecordKindName,
  RecordLine,
  RecordsAsked,
  Search,
} from './pages.ts'
import { Settings } from './settings.ts'
import { LedgerEntry } from './studies.ts'

const CertificateText = z.string().max(20_000_000)

/** Work in the register that a certificate is of. */
const OfWork = { kind: z.enum(['fixed-points', 'resistor']), id: Id, entry: Id }

const CertificateLook = z.strictObject({
  schemaVersion: z.string(),
  number: z.string(),
  date: z.string(),
  laboratory: z.string(),
  item: z.strictObject({ name: z.string(), maker: z.string(), model: z.string(), serial: z.string() }),
  /** Every value that was read, with its place in the file. */
  values: z.array(
    z.strictObject({ name: z.string(), value: z.string(), unit: z.string(), place: z.string() }),
  ),
  /** What could not be read, in words. */
  unread: z.array(z.string()),
  /** Whose signature it bears, in words, and whether it does not hold. */
  signature: z.string(),
  broken: z.boolean(),
  /** Entries that have its serial number. */
  entries: z.array(z.strictObject({ id: z.string(), name: z.string() })),
})
export type CertificateLook = z.output<typeof CertificateLook>

const Ids = z.array(Id).max(500).default([])

/** Lasting records, the checks that enter them, and the station's own settings. */

export const registerCalls = {
  /** A page of narrow lines; a record is read whole when it is opened. */
  list: base.input(RecordsAsked).output(pageOf(RecordLine)),
  /** The records of these ids, whole. */
  some: base
    .input(
      z.strictObject({
        thermometers: Ids,
        resistors: Ids,
        instruments: Ids,
        fluids: Ids,
        cells: Ids,
        baths: Ids,
      }),
    )
    .output(Register),
  /** Takes a record out of the lists, or back into them; every version of it stays. */
  retire: base.input(z.strictObject({ kind: RecordKindName, id: Id, why: Why.min(1) })).output(Ok),
  bringBack: base.input(z.strictObject({ kind: RecordKindName, id: Id, why: Why.min(1) })).output(Ok),
  saveThermometer: base.input(z.strictObject({ entry: Thermometer, why: Why })).output(Ok),
  saveResistor: base.input(z.strictObject({ entry: Resistor, why: Why })).output(Ok),
  saveInstrument: base.input(z.strictObject({ entry: InstrumentRecord, why: Why })).output(Ok),
  saveFluid: base.input(z.strictObject({ entry: Fluid, why: Why })).output(Ok),
  saveCell: base.input(z.strictObject({ entry: Cell, why: Why })).output(Ok),
  saveBath: base.input(z.strictObject({ entry: Bath, why: Why })).output(Ok),
  /** Checks an entry against typing errors: W at the fixed points, IEC limits, date order. */
  checkThermometer: base
    .input(z.strictObject({ entry: Thermometer }))
    .output(z.array(z.strictObject({ severity: z.enum(['note', 'warning', 'error']), words: z.string() }))),
  /** Takes a save back: what stood before that ledger entry is saved again, as a change of its own with its reason. */
  restore: base.input(z.strictObject({ ledger: z.int().positive(), why: Why.min(1) })).output(Ok),
  /** Records that have a due date, the most pressing first. */
  dueDates: base
    .input(z.strictObject({ search: Search, reverse: z.boolean().default(false), ...pageAsked(500, 100) }))
    .output(pageOf(DueLine)),
  /** The newest first. */
  ledger: base
    .input(
      z.strictObject({
        subject: z.string().optional(),
        search: Search,
        reverse: z.boolean().default(false),
        ...pageAsked(500, 100),
      }),
    )
    .output(pageOf(LedgerLine)),
  /** One entry with what it changed, whole. */
  ledgerEntry: base.input(z.strictObject({ n: z.int().positive() })).output(LedgerEntry),
  /** A register that was exported, JSON. */
  importFile: base.input(z.strictObject({ file: Bytes, why: Why })).output(Ok),
  /** What a digital certificate says, whose signature it bears, and which entry it is of. Nothing is written. */
  lookAtCertificate: base.input(z.strictObject({ text: CertificateText })).output(CertificateLook),
  /** Takes its calibration into an entry, and keeps the file with it. */
  takeCertificate: base.input(z.strictObject({ text: CertificateText, to: Id, why: Why.min(1) })).output(Ok),
  exportFile: base.input(z.strictObject({ format: z.enum(['json', 'csv']) })).output(Bytes),
}

export const checksCalls = {
  /** Takes the R(WTP) that an ended session measured, of the reference and of those under test, into the register. */
  takeWtp: base.input(z.strictObject({ session: Id, why: Why })).output(Ok),
  /** Takes the fit of a signed-off session into the register as a calibration of the thermometer under test. */
  enterCalibration: base
    .input(
      z.strictObject({
        session: Id,
        channel: Id,

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
  record: base.input(z.strictObject({ request: CheckRequest, why: Why.min(1) })).output(Ok),
  /** What an entry has done over the years. */
  life: base.input(z.strictObject({ kind: z.enum(LIFE_KINDS), id: Id })).output(LifeView),
  /** The certificate of a calibration at fixed points, or of a resistor's comparison: a draft until it is signed. */
  certificate: base
    .input(
      z.strictObject({
        kind: z.enum(['fixed-points', 'resistor']),
        id: Id,
        entry: Id.optional(),
        format: z.enum(['html', 'pdf', 'xml']),
      }),
    )
    .output(Bytes),
  /** What stands against signing it, and its number where it is signed. */
  certificateHolds: base.input(z.strictObject(OfWork)).output(
    z.strictObject({
      gaps: z.array(z.string()),
      signed: z.string().nullable(),
      hasKey: z.boolean(),
      keepsPassword: z.boolean(),
    }),
  ),
  /** Signs the certificate: it gets its number, and with a key PDF and XML are signed electronically. */
  signCertificate: base
    .input(
      z.strictObject({
        ...OfWork,
        password: z.string().default(''),
        keyPassword: z.string().default(''),
        keyKept: z.boolean().default(false),
        statements: SignerStatements,
        gapsKnown: z.boolean().default(false),
      }),
    )
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
  /** Records with something in their chart of a kind, those with the newest entry first. */
  charted: base.input(z.strictObject({ kind: z.enum(CHART_KINDS), ...pageAsked(500, 50) })).output(
    pageOf(z.strictObject({ id: Id, name: z.string() })).extend({
      /** Sessions that are still to be looked through. */
      pending: z.int(),
    }),
  ),
  /** Control chart of an entry of the register. `celsius`: check thermometers near one temperature only. */
  history: base
    .input(
      z.strictObject({ kind: z.enum(CHART_KINDS), id: Id, celsius: z.number().nullable().default(null) }),
    )
    .output(ChartView),
}

export const settingsCalls = {
  get: base.output(Settings),
  save: base.input(z.strictObject({ settings: Settings })).output(Ok),
  /** How far each target that sessions are sent on to has got. */
  forwarding: base.output(
    z.array(
      z.strictObject({
        kind: z.enum(['mqtt', 'postgres']),
        state: z.enum(['up-to-date', 'sending', 'waiting', 'refused']),
        /** Readings not sent yet. */
        behind: z.int(),
        words: z.string(),
      }),
    ),
  ),
}
