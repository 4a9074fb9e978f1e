import { type BridgeCheckRecord, type InstrumentRecord, inForce } from '../records/register.ts'

const KIND_WORDS: Readonly<Record<BridgeCheckRecord['kind'], string>> = {
  interchange: 'interchange',
  network: 'networks of resistors',
  comparison: 'comparison with known ratios',
}

/** A ratio bridge on a day: what its record states, and what its newest check found where that is larger. */
export interface BridgeInForce {
  readonly linearityRatio: number
  /** Standard uncertainty by the last digit shown: the digit over the root of 12; JCGM 100:2008, F.2.2.1. */
  readonly uResolutionRatio: number
  /** Where the linearity comes from, in words; null: from the record, and no check says more. */
  readonly linearitySource: string | null
}

/** What a bridge's checks say on a day: the newest not after it; of two on one day the larger. */
export function bridgeCheckInForce(
  checks: readonly BridgeCheckRecord[],
  date: string,
): BridgeCheckRecord | undefined {
  return inForce(
    checks.toSorted((a, b) => a.linearityRatio - b.linearityRatio),
    date,
  )
}

/**
 * Linearity and resolution of a ratio bridge as a budget takes them: the linearity is the larger of what the record states
 * and what the check in force found, so that a check may widen a budget but never narrows what a certificate states. Null
 * where the register states nothing of the bridge.
 */
export function bridgeInForce(
  instrument: InstrumentRecord | null | undefined,
  date: string,
): BridgeInForce | null {
  if (!instrument?.bridge) return null
  const { linearityRatio } = instrument.bridge
  const uResolutionRatio = instrument.bridge.resolutionRatio / Math.sqrt(12)
  const check = bridgeCheckInForce(instrument.checks ?? [], date)
  if (!check) return { linearityRatio, uResolutionRatio, linearitySource: null }
  const words = `check of ${instrument.name} by ${KIND_WORDS[check.kind]} on ${check.date}`
  return check.linearityRatio > linearityRatio
    ? {
        linearityRatio: check.linearityRatio,
        uResolutionRatio,
        linearitySource: `${words}, which found more than the register states`,
      }
    : {
        linearityRatio,
        uResolutionRatio,
        linearitySource: `register entry of ${instrument.name}; the ${words} found no more`,
      }
}
