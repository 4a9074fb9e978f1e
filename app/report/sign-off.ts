import { type Said, said } from '../messages/said.ts'
import type { Analysis } from '../results/analysis.ts'
import { missingLinks, traceLinks } from './traceability.ts'

/** What stands against a sign-off, in words. */
export interface SignOffHolds {
  /** Why nothing can be signed; null: there are results. */
  readonly refusal: Said | null
  /** Gaps of the chain to the SI: the signer mends the record, or signs knowing that traceability is not shown in full. */
  readonly gaps: readonly string[]
  /** What the readings themselves say against the results, and which guided checks were not made. */
  readonly findings: readonly string[]
}

/** What the signer of a session's report has to know first. */
export function signOffHolds(analysis: Analysis): SignOffHolds {
  const { thermometers } = analysis
  const withResults = thermometers.filter((t) => t.fit !== null)
  const refusal =
    withResults.length > 0
      ? null
      : thermometers[0]?.refusal
        ? said('nothing-to-sign-because', { why: thermometers[0].refusal })
        : said('nothing-to-sign', {})
  return {
    refusal,
    gaps: missingLinks(
      traceLinks(
        analysis,
        thermometers.map((t) => t.record),
      ),
    ),
    findings: [...analysis.findings, ...analysis.unmade].map(({ words }) => words),
  }
}
