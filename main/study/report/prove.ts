import { createHash } from 'node:crypto'
import { existsSync, readFileSync } from 'node:fs'
import path from 'node:path'
import { last } from '../../../app/base/lists.ts'
import type { SessionEvent } from '../../../app/records/session.ts'
import {
  buildReport,
  type ReportContent,
  reportJson,
  type StoredReport,
} from '../../../app/report/content.ts'
import {
  compareNumbers,
  comparePoints,
  compareReports,
  type Difference,
  signedNumbers,
} from '../../../app/report/proof.ts'
import { threadsOf } from '../../../app/report/provenance.ts'
import { type Analysis, type AnalysisOptions, analyse } from '../../../app/results/analysis.ts'
import { DEFAULT_OPTIONS, decisionsOf } from '../../../app/results/analysis-input.ts'
import type { SessionFile } from '../../store/session-file.ts'
import { CERTIFICATE_FOLDER } from './certificates.ts'
import type { Paper } from './pdf.ts'
import { printResults, RESULT_FILES, readingsCsv } from './print-results.ts'
import { type ProvedFile, proveCertificates } from './prove-certificates.ts'
import { rebuildDoubts, rebuildPoint, sessionChains, sessionContent } from './session-content.ts'
import { settlingTraces } from './settling-traces.ts'
import { signedOf } from './signed-settings.ts'

/** A stored report as it was read, and as JSON. */
export interface StoredJson {
  readonly report: StoredReport
  readonly json: unknown
}

export interface Proof {
  readonly analysis: Analysis
  readonly report: ReportContent
  /** Points made again from their readings, and where they differ from what the file keeps. */
  readonly points: number
  readonly pointDifferences: readonly Difference[]
  /** What of its points an older session does not tell for certain, in words. */
  readonly doubts: readonly string[]
  /** Against the report that was signed, where the file has one of this version. */
  readonly signed: { readonly version: number; readonly differences: readonly Difference[] } | null
  /** Against results.json, where one was given: every number and everything else in it. */
  readonly stored: { readonly differences: readonly Difference[] } | null
  readonly same: boolean
}

/**
 * The events up to which a stored report was made: all that leave its version and its sign-off as it states them. A draft
 * that was signed since, or a version that was amended, is proved as it stood.
 */
function eventsOf(session: SessionFile, stored: StoredReport | undefined): SessionEvent[] {
  const events = session.events()
  if (!stored) return events
  for (let n = events.length; n >= 0; n--) {
    const { versions, signOff } = decisionsOf(session.setup, events.slice(0, n))
    const version = last(versions).version
    if (version === stored.version && (signOff !== null) === (stored.status === 'signed'))
      return events.slice(0, n)
    // A version begins with the amendment that opens it: below that there is nothing to be found.
    if (version < stored.version) break
  }
  return events
}

/**
 * Computes a session's whole report again from its file alone: points from readings, results from points; and compares
 * digit by digit with what was signed, and the whole stored report, words and plots too, place by place. `options` are the
 * choices where neither of the two states its own.
 */
export function proveSession(
  session: SessionFile,
  stored: StoredJson | null,
  options: Partial<AnalysisOptions> = {},
): Proof {
  const signed = signedOf(session)
  const settings = { ...DEFAULT_OPTIONS, ...options, ...(stored?.report.settings ?? signed?.settings) }
  const content = sessionContent(session, eventsOf(session, stored?.report))
  const chains = sessionChains(session)
  const kept = session.points()
  const rebuilt = kept.map((point) => rebuildPoint(session, chains, point))
  const pointDifferences = kept.flatMap((point, i) => comparePoints(point, rebuilt[i]!))
  // Points from which readings were left out since were made again already; the others are taken from their readings here.
  const points = content.points.map((point) => {
    const at = kept.findIndex((k) => k.id === point.id)
    return kept[at] !== undefined && same(kept[at], point) ? (rebuilt[at] ?? point) : point
  })
  const analysis = analyse({ ...content, points, options: settings })
  const report = buildReport(analysis, {
    ...(stored && { decimalSign: stored.report.decimalSign, settling: settlingTraces(session, analysis) }),
  })
  const computed = signedNumbers(report)
  const ofSigned =
    signed && signed.version === report.version
      ? { version: signed.version, differences: compareNumbers(signed.numbers, computed.numbers) }
      : null
  const ofStored = stored ? { differences: compareStored(stored, analysis, report) } : null
  return {
    analysis,
    report,
    points: kept.length,
    pointDifferences,
    doubts: rebuildDoubts(session),
    signed: ofSigned,
    stored: ofStored,
    same:
      pointDifferences.length === 0 &&
      (ofSigned?.differences.length ?? 0) === 0 &&
      (ofStored?.differences.length ?? 0) === 0,
  }
}

function compareStored(stored: StoredJson, analysis: Analysis, report: ReportContent): Difference[] {
  const { json } = stored
  const withThreads = typeof json === 'object' && json !== null && 'threads' in json
  const again = reportJson(report, withThreads ? threadsOf(analysis, report) : undefined)
  return compareReports(json, JSON.parse(again))
}

const same = (a: unknown, b: unknown) => JSON.stringify(a) === JSON.stringify(b)

const digest = (pieces: Iterable<string | Uint8Array>): string => {
  const hash = createHash('sha256')
  for (const piece of pieces) hash.update(piece)
  return hash.digest('hex')
}

/**
 * Prints every file of a results folder again from the session and compares byte for byte: readings, points, page, PDF and digital
 * certificate. The session's own copy and results.json are proved otherwise.
 */
export async function proveFiles(session: SessionFile, proof: Proof, folder: string): Promise<ProvedFile[]> {
  const present = (['readings', 'points', 'html', 'pdf'] as const).flatMap((name) => {
    const file = path.join(folder, RESULT_FILES[name])
    return existsSync(file) ? [{ name, stored: digest([readFileSync(file)]) }] : []
  })
  const printedOn = async (paper: Paper) => printResults(proof.analysis, proof.report, paper)
  let printed = await printedOn('A4')
  const pdf = present.find(({ name }) => name === 'pdf')
  if (pdf && digest([printed.pdf]) !== pdf.stored) {
    const letter = await printedOn('Letter')
    if (digest([letter.pdf]) === pdf.stored) printed = letter
  }
  const own = present.map(({ name, stored }) => {
    const again = name === 'readings' ? readingsCsv(session) : [printed[name] ?? '']
    return { name: RESULT_FILES[name], stored, computed: digest(again) }
  })
  return [...own, ...(await proveCertificates(proof.analysis, path.join(folder, CERTIFICATE_FOLDER)))]
}
