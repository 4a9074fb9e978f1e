import { evidenceOf } from '../../../app/checks/answer-check.ts'
import { type BridgeCurve, bridgeCurve } from '../../../app/checks/bridge-curve.ts'
import { CheckRequest } from '../../../app/contract/check-request.ts'
import type { Rows } from './checks.store.ts'
import { type BridgePage, resultOfRows } from './ratios.model.ts'

export type WholeBridgeRequest = Extract<CheckRequest, { check: 'bridge' }>

export const PAGE_WORDS: Readonly<Record<BridgePage, string>> = {
  interchange: 'interchange',
  networks: 'combinations',
  ratios: 'known ratios',
}
const PAGES: readonly BridgePage[] = ['interchange', 'networks', 'ratios']

export interface WholeBridge {
  readonly request: WholeBridgeRequest
  readonly curve: BridgeCurve
  /** Which tables it is made of, in words. */
  readonly of: readonly string[]
}

/**
 * One picture of a bridge from everything that stands in the tables of interchange, combinations and known ratios: the same
 * request, and so the same digits, as `stillpoint check` takes. Undefined where fewer than two tables are whole; a sentence where they do
 * not go together.
 */
export function wholeBridge(
  tables: Readonly<Record<BridgePage, Rows>>,
  more: Partial<Pick<WholeBridgeRequest, 'instrument' | 'date' | 'due' | 'asCorrection'>>,
): WholeBridge | string | undefined {
  const found = PAGES.map((page) => ({ page, own: resultOfRows(page, tables[page], {}).request })).filter(
    ({ own }) => own !== undefined,
  )
  if (found.length < 2) return undefined
  const parts = Object.fromEntries(
    found.map(({ own }) =>
      own!.check === 'networks'
        ? ['networks', own!.readings]
        : own!.check === 'interchange'
          ? ['interchanges', own!.pairs]
          : ['known', own!.pairs],
    ),
  )
  try {
    const request = CheckRequest.parse({ check: 'bridge', ...more, ...parts }) as WholeBridgeRequest
    return {
      request,
      curve: bridgeCurve(evidenceOf(request)),
      of: found.map(({ page }) => PAGE_WORDS[page]),
    }
  } catch (fault) {
    return fault instanceof Error ? fault.message : String(fault)
  }
}
