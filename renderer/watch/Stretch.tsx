import { decimalsOfU } from '../../app/base/rounding.ts'
import { duration } from '../../app/base/times.ts'
import { Button } from '../parts/Button.tsx'
import { Problem } from '../parts/Problem.tsx'
import { Scroll } from '../parts/Scroll.tsx'
import { fixed, significant, unitSign } from '../text/numbers.ts'
import { clockTime } from '../text/times.ts'

export interface StretchRow {
  channel: string
  name: string
  n: number
  leftOut: number
  mean: number | null
  sd: number | null
  standardError: number | null
  nEffective: number | null
  driftPerMin: number | null
  span: number | null
  unit: string
}

interface Props {
  from: number
  to: number
  /** Name of the channel that is taken off the others. */
  less: string | undefined
  rows: readonly StretchRow[] | undefined
  problem: string | undefined
  onCopy: () => void
  onClose: () => void
}

const decimalsOf = (u: number | null) => (u !== null && u > 0 ? Math.min(10, decimalsOfU(u)) : 4)
const spread = (value: number | null) => (value === null ? '–' : significant(value, 2))

/** Statistics of the stretch selected in the plots. */
export function Stretch({ from, to, less, rows, problem, onCopy, onClose }: Props) {
  return (
    <section className="stretch" aria-label="Statistics of the selected stretch">
      <div className="row row-apart">
        <h2>{`${clockTime(from * 1e6, true)} to ${clockTime(to * 1e6, true)}, ${duration(to - from)}${less === undefined ? '' : `, less ${less}`}`}</h2>
        <span className="row">
          <Button look="quiet" onPress={onCopy}>
            Copy table
          </Button>
          <Button look="quiet" onPress={onClose}>
            Close
          </Button>
        </span>
      </div>
      <Problem words={problem} />
      {rows === undefined ? (
        <p className="faint">Working it out</p>
      ) : (
        <Scroll label="Statistics table">
          <table className="table">
            <thead>
              <tr>
                <th scope="col" className="left">
                  Channel
                </th>
                <th scope="col">Mean</th>
                <th scope="col">Standard deviation</th>
                <th scope="col">Standard deviation of the mean</th>
                <th scope="col">Drift per min</th>
                <th scope="col">Span</th>
                <th scope="col">Readings</th>
                <th scope="col">Effective number</th>
                <th scope="col">Left out</th>
                <th scope="col">Unit</th>
              </tr>
            </thead>
            <tbody>
              {rows.map((row) => (
                <tr key={row.channel}>
                  <th scope="row">{row.name}</th>
                  <td>{row.mean === null ? '–' : fixed(row.mean, decimalsOf(row.standardError))}</td>
                  <td>{spread(row.sd)}</td>
                  <td>{spread(row.standardError)}</td>
                  <td>{spread(row.driftPerMin)}</td>
                  <td>{spread(row.span)}</td>
                  <td>{row.n}</td>
                  <td title="Number of independent readings they are worth">
                    {row.nEffective === null ? '–' : Math.round(row.nEffective)}
                  </td>
                  <td>{row.leftOut}</td>
                  <td>{unitSign(row.unit)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </Scroll>
      )}
    </section>
  )
}
