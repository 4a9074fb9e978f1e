import { analyse } from '../../../app/comparison/analysis.ts'
import { DEFAULT_OPTIONS } from '../../../app/comparison/analysis-input.ts'
import { buildReport, type ReportContent, type StoredReport } from '../../../app/report/content.ts'
import {
  compareNumbers,
  comparePoints,
  type Difference,
  SignedNumbers,
  signedNumbers,
} from '../../../app/report/proof.ts'
import type { SessionFile } from '../../store/session-file.ts'
import { rebuildPoint, sessionChains, sessionContent } from './session-content.ts'

export interface Proof {
  readonly report: ReportContent
  /** Points made again from their readings, and where they differ from what the file keeps. */
  readonly points: number
  readonly pointDifferences: readonly Difference[]
  /** Against the report that was signed, where the file has one of this version. */
  readonly signed: { readonly version: number; readonly differences: readonly Difference[] } | null
  /** Against results.json, where one was given. */
  readonly stored: { readonly differences: readonly Difference[] } | null
  readonly same: boolean
}

function signedOf(session: SessionFile): SignedNumbers | null {
  for (const event of session.events({ kinds: ['sign-off'] }).toReversed()) {
    const found = SignedNumbers.safeParse(event.data.report)
    if (found.success) return found.data
  }
  return null
}

/**
 * Computes a session's whole report again from its file alone: points from readings, results from points; and compares
 * digit by digit with what was signed and with the stored report.
 */
export function proveSession(session: SessionFile, stored: StoredReport | null): Proof {
  const signed = signedOf(session)
  const settings = { ...DEFAULT_OPTIONS, ...(stored?.settings ?? signed?.settings) }
  const content = sessionContent(session)
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
  const report = buildReport(analysis)
  const computed = signedNumbers(report)
  const ofSigned =
    signed && signed.version === report.version
      ? { version: signed.version, differences: compareNumbers(signed.numbers, computed.numbers) }
      : null
  const ofStored = stored
    ? {
        differences: compareNumbers(
          Object.fromEntries(
            Object.entries(stored.numbers).map(([k, n]) => [k, [n.value, n.uncertainty, n.k]]),
          ),
          computed.numbers,
        ),
      }
    : null
  return {
    report,
    points: kept.length,
    pointDifferences,
    signed: ofSigned,
    stored: ofStored,
    same:
      pointDifferences.length === 0 &&
      (ofSigned?.differences.length ?? 0) === 0 &&
      (ofStored?.differences.length ?? 0) === 0,
  }
}

const same = (a: unknown, b: unknown) => JSON.stringify(a) === JSON.stringify(b)
