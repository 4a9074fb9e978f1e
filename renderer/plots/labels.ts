import { decimalsOfStep } from '../../app/base/powers.ts'
import { fixed } from '../text/numbers.ts'
import { momentLabels } from '../text/times.ts'

/**
 * Local times, with seconds where the steps are shorter than a minute, dates where they are a day or more. An axis that stands
 * at no moment yet says nothing.
 */
export const timeLabels = (splits: number[], hasMoments = true): string[] =>
  hasMoments ? momentLabels(splits) : splits.map(() => '')

/** As many decimals as the step between two labels has, so that none is rounded. */
export function valueLabels(splits: number[]): string[] {
  const decimals = decimalsOfStep((splits[1] ?? 1) - (splits[0] ?? 0) || 1)
  return splits.map((v) => fixed(v, decimals))
}
