import { eventIterator } from '@orpc/contract'
import { z } from 'zod'
import { SignerStatements } from '../records/certificate.ts'
import { Point } from '../records/point.ts'
import { SessionInfo, SessionSetup } from '../records/session.ts'
import { Bytes, base, Id, Ok, Why } from './call.ts'
import { pageAsked, pageOf, SESSION_SORTS, Search } from './pages.ts'
import { ArchiveRow, CertificateRow, Comparison, FitView, Thread, VerifyResult } from './studies.ts'
import { TableLook, TableMeaning } from './tables.ts'
import { StationState } from './views.ts'

/** Points, reports and past sessions. */

export const pointsCalls = {
  /** As they were taken, or made again from their readings with the records of now. */
  list: base
    .input(z.strictObject({ session: Id, coefficients: z.enum(['then', 'now']).optional() }))
    .output(z.array(Point)),
  fits: base.input(z.strictObject({ session: Id })).output(z.array(FitView)),
  /** The whole report content as data (the JSON of the results folder). */
  report: base.input(z.strictObject({ session: Id })).output(z.record(z.string(), z.unknown())),
  reportHtml: base.input(z.strictObject({ session: Id })).output(z.string()),
  reportPdf: base
    .input(z.strictObject({ session: Id, paper: z.enum(['A4', 'Letter']).default('A4') }))
    .output(Bytes),
  /** The certificate of each item: a draft until the report is signed off. */
  certificates: base.input(z.strictObject({ session: Id })).output(z.array(CertificateRow)),
  /** The certificate of one item as a page. */
  certificateHtml: base.input(z.strictObject({ session: Id, thermometer: Id })).output(z.string()),
  certificatePdf: base
    .input(z.strictObject({ session: Id, thermometer: Id, paper: z.enum(['A4', 'Letter']).default('A4') }))
    .output(Bytes),
  certificateXml: base
    .input(z.strictObject({ session: Id, thermometer: Id, paper: z.enum(['A4', 'Letter']).default('A4') }))
    .output(Bytes),
  /** Unfolds a number: formula, inputs, readings, calibrations. Keys come from the report content. */
  thread: base.input(z.strictObject({ session: Id, key: z.string() })).output(Thread),
  /** What stands against a sign-off: no results, gaps in the chain to the SI, findings and checks not made. */
  signOffHolds: base.input(z.strictObject({ session: Id })).output(
    z.strictObject({
      refusal: z.string().nullable(),
      gaps: z.array(z.string()),
      /** What the readings say against the results, and guided checks that were not made. */
      findings: z.array(z.string()),
      /** Whether the station has a key to sign with. */
      hasKey: z.boolean(),
      /** Whether its password is kept for the station, by the desktop's safe storage. */
      keepsPassword: z.boolean(),
    }),
  ),
  signOff: base
    .input(
      z.strictObject({
        session: Id,
        /** Of the person who is signed in, once more. */
        password: z.string().default(''),
        remark: z.string().default(''),
        /** Opens the laboratory's signing key; empty: the certificates are not signed electronically. */
        keyPassword: z.string().default(''),
        /** Opens the key with the password that is kept for it. */
        keyKept: z.boolean().default(false),
        /** What only a person can state; every part is answered. */
        statements: SignerStatements,
        /** The signer knows that the chain to the SI has gaps, and signs all the same. */
        gapsKnown: z.boolean().default(false),
        /** The signer has decided on what speaks against the results, and signs. */
        findingsKnown: z.boolean().default(false),
      }),
    )
    .output(Ok),
  leaveOut: base
    .input(
      z.strictObject({
        session: Id,
        point: Id,
        channel: Id.optional(),
        why: Why.min(1),
        restore: z.boolean().default(false),
      }),
    )
    .output(Ok),
}

export const archiveCalls = {
  sessions: base
    .input(
      z.strictObject({
        search: Search,
        /** Register id: only sessions that measured it. */
        thermometer: Id.optional(),
        ids: z.array(Id).max(100).optional(),
        sort: z.enum(SESSION_SORTS).default('started'),
        /** The oldest, the smallest or the first of the alphabet first. */
        reverse: z.boolean().default(false),
        ...pageAsked(200, 50),
      }),
    )
    .output(pageOf(ArchiveRow)),
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
  annotate: base.input(z.strictObject({ session: Id, words: z.string().min(1) })).output(Ok),
  /** Takes the records of now into an ended session: a correction that makes a new version. */
  takeRecordsOfNow: base.input(z.strictObject({ session: Id, why: Why.min(1) })).output(Ok),
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
          'sqlite-table',
          'json',
          'html',
          'pdf',
        ]),
      }),
    )
    .output(Bytes),
  backup: base.input(z.strictObject({ session: Id })).output(Ok),
  /** Brings the whole backup up to date: every session and the station's own records. */
  backupAll: base.output(Ok),
  /** Makes a new data folder of a backup; never over anything. The running station goes on as it is. */
  restoreBackup: base.input(z.strictObject({ from: z.string().min(1), to: z.string().min(1) })).output(Ok),
  /** What the first lines of a table recorded elsewhere look like. */
  lookAtTable: base.input(z.strictObject({ beginning: z.string().max(1_000_000) })).output(TableLook),
  /** Makes a session of such a table, up to 24 MB; a larger one goes through the command `stillpoint import`. */
  importTable: base
    .input(
      z.strictObject({
        table: Bytes,
        file: z.string().min(1).max(200),
        name: z.string().min(1).max(200),
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
}
