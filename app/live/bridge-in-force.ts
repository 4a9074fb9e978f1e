import { at } from '../base/lists.ts'
import { type BridgeCheckRecord, type InstrumentRecord, inForce } from '../records/register.ts'

const KIND_WORDS: Readonly<Record<BridgeCheckRecord['kind'], string>> = {
  interchange: 'interchange',
  network: 'networks of resistors',
  comparison: 'comparison with known ratios',
  together: 'interchange, networks and known ratios together',
}

/** A ratio bridge on a day: what its record states, and what its newest check found where that is larger. */
export interface BridgeInForce {
  readonly linearityRatio: number
  /** Standard uncertainty by the last digit shown: the digit over the root of 12; JCGM 100:2008, F.2.2.1. */
  readonly uResolutionRatio: number
  /** Where the linearity comes from, in words; null: from the record, and no check says more. */
  readonly linearitySource: string | null
  /** The curve by which ratios are corrected, where one is in force. */
  readonly correction: NonNullable<BridgeCheckRecord['curve']> | null
}

type Correctable = Pick<BridgeInForce, 'correction' | 'linearityRatio'>

/** Error and its standard uncertainty by the curve in force at a ratio as shown; undefined outside it or without one. */
function corrected({ correction }: Correctable, ratio: number): { error: number; u: number } | undefined {
  const above = correction?.findIndex((p) => p.ratio >= ratio) ?? -1
  if (!correction || above < 0) return undefined
  const high = at(correction, above)
  if (high.ratio === ratio) return high
  const low = correction[above - 1]
  if (!low) return undefined
  const part = (ratio - low.ratio) / (high.ratio - low.ratio)
  const along = (a: number, b: number) => a + part * (b - a)
  return { error: along(low.error, high.error), u: along(low.u, high.u) }
}

/** What a bridge shows too much at a ratio, by the curve that corrects it; 0 where none does. */
export const bridgeErrorAt = (bridge: Correctable, ratio: number): number =>
  corrected(bridge, ratio)?.error ?? 0

/** Standard uncertainty of a ratio for the bridge's linearity: what a correction leaves, else the linearity in force. */
export const bridgeLinearityAt = (bridge: Correctable, ratio: number): number =>
  corrected(bridge, ratio)?.u ?? bridge.linearityRatio

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
  const checks = instrument.checks ?? []
  const check = bridgeCheckInForce(checks, date)
  const calibrated = inForce(
    checks.filter((c) => c.asCorrection && c.curve !== undefined),
    date,
  )
  const correction = calibrated?.curve ?? null
  if (!check) return { linearityRatio, uResolutionRatio, linearitySource: null, correction }
  const curve =
    calibrated && `curve of ${instrument.name} of ${calibrated.date}, by which ratios are corrected`
  const words = `check of ${instrument.name} by ${KIND_WORDS[check.kind]} on ${check.date}`
  return check.linearityRatio > linearityRatio
    ? {
        linearityRatio: check.linearityRatio,
        uResolutionRatio,
        linearitySource: curve ?? `${words}, which found more than the register states`,
        correction,
      }
    : {
        linearityRatio,
        uResolutionRatio,
        linearitySource: curve ?? `register entry of ${instrument.name}; the ${words} found no more`,
        correction,
      }
}
