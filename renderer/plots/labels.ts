import { decimalsOfStep } from '../../app/base/powers.ts'
import { fixed } from '../text/numbers.ts'

/** Local times, with seconds where the steps are shorter than a minute. */
export function timeLabels(splits: number[]): string[] {
  const step = (splits[1] ?? 0) - (splits[0] ?? 0)
  return splits.map((t) => {
    const d = new Date(t * 1000)
    const hm = `${String(d.getHours()).padStart(2, '0')}:${String(d.getMinutes()).padStart(2, '0')}`
    return step < 60 ? `${hm}:${String(d.getSeconds()).padStart(2, '0')}` : hm
  })
}

/** As many decimals as the step between two labels has, so that none is rounded. */
export function valueLabels(splits: number[]): string[] {
  const decimals = decimalsOfStep((splits[1] ?? 1) - (splits[0] ?? 0) || 1)
  return splits.map((v) => fixed(v, decimals))
}
