import { fixed } from '../text/numbers.ts'

const MOST_DECIMALS = 9

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
  const step = Math.abs((splits[1] ?? 1) - (splits[0] ?? 0)) || 1
  let decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9))
  const isWhole = (x: number) => Math.abs(x - Math.round(x)) < 1e-3
  while (decimals < MOST_DECIMALS && !isWhole(step * 10 ** decimals)) decimals++
  return splits.map((v) => fixed(v, Math.min(MOST_DECIMALS, decimals)))
}
