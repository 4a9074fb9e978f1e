import type { CurvePoint } from '../../../app/checks/bridge-curve.ts'
import type { DotSeries } from '../../plots/DotPlot.tsx'
import { parts } from './written.ts'

interface Checked {
  readonly name: string
  readonly ratio: number
  /** In ratio. */
  readonly error: number
  readonly expanded: number
}

/** The errors of a bridge at the ratios that were checked, and the curve through them with its U, in 10⁻⁹ of ratio. */
export function bridgeSeries(
  name: string,
  checked: readonly Checked[],
  curve: readonly CurvePoint[],
): DotSeries[] {
  return [
    {
      name,
      dots: checked.map((d, i) => ({
        key: `${i} ${d.name}`,
        x: d.ratio,
        y: d.error * 1e9,
        bar: d.expanded * 1e9,
        words: `${d.name}: ${parts(d.error)}, U ${parts(d.expanded)}`,
      })),
    },
    ...(curve.length > 1
      ? ([0, 1, -1] as const).map((side) => ({
          name: side === 0 ? 'Error found' : side > 0 ? 'Its U (k = 2), above' : 'Its U (k = 2), below',
          joined: true,
          bare: true,
          dots: curve.map(({ ratio, error, u }, i) => ({
            key: `${side}${i}`,
            x: ratio,
            y: (error + 2 * side * u) * 1e9,
            words: '',
          })),
        }))
      : []),
  ]
}
