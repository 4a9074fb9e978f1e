import { duration } from '../../app/base/times.ts'
import type { PlanHelp, PlanPreview } from '../../app/contract/studies.ts'
import { fixed } from '../text/numbers.ts'

type Check = PlanPreview['checks'][number]

/** Checks that say the same of many: one that speaks for all, and the others to unfold. */
export interface CheckGroup {
  first: Check
  others: Check[]
  ids: readonly string[]
}

const RANK = { stop: 0, warning: 1, note: 2, fine: 3 }

/** What forbids first. Checks of one gravity with one remedy stand together, so that 96 thermometers ask once. */
export function groupChecks(checks: readonly Check[]): CheckGroup[] {
  const groups = new Map<string, Check[]>()
  for (const check of checks) {
    const key = check.remedy === '' ? check.id : `${check.severity} ${check.remedy}`
    groups.set(key, [...(groups.get(key) ?? []), check])
  }
  return [...groups.values()]
    .map(([first, ...others]) => ({
      first: first!,
      others,
      ids: [first!, ...others].map(({ id }) => id),
    }))
    .toSorted((a, b) => RANK[a.first.severity] - RANK[b.first.severity])
}

export function helpWords(help: PlanHelp): string {
  switch (help.kind) {
    case 'window':
      return `Make the window ${duration(help.windowS)}`
    case 'wait':
      return `Make the wait ${duration(help.maxWaitS)}`
    case 'leave-out':
      return `Leave ${fixed(help.celsius, Number.isInteger(help.celsius) ? 0 : 2)} °C out`
    case 'go':
      return help.place === 'bench' ? 'Go to Bench' : 'Go to Register'
  }
}

/** A warning as it was taken on: what it says counts, so that a change of the plan asks again. */
export const takenOn = ({ id, words }: Check): string => `${id}\n${words}`

/** Ids of the warnings of a preview that were taken on as they stand. */
export function stillTaken(preview: PlanPreview | undefined, taken: readonly string[]): string[] {
  return (preview?.checks ?? []).filter((check) => taken.includes(takenOn(check))).map(({ id }) => id)
}
