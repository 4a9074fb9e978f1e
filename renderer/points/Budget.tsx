import type { FitView } from '../../app/contract/studies.ts'
import { fixed, significant } from '../text/numbers.ts'

interface Props {
  lines: FitView['points'][number]['budget']
  expandedMk: number
  k: number
}

/** An uncertainty budget by JCGM 100: each line, and how much of the whole it makes. */
export function Budget({ lines, expandedMk, k }: Props) {
  const sum = lines.reduce((total, line) => total + line.uMk ** 2, 0)
  return (
    <table className="table budget">
      <thead>
        <tr>
          <th scope="col" className="left">
            Contribution
          </th>
          <th scope="col">u / mK</th>
          <th scope="col">Type</th>
          <th scope="col">Degrees of freedom</th>
          <th scope="col" className="left">
            Share of the variance
          </th>
          <th scope="col" className="left">
            Where from
          </th>
        </tr>
      </thead>
      <tbody>
        {lines.map((line) => {
          const share = sum > 0 ? line.uMk ** 2 / sum : 0
          return (
            <tr key={line.name}>
              <th scope="row">{line.name}</th>
              <td>{significant(line.uMk, 2)}</td>
              <td>{line.kind}</td>
              <td>{line.degreesOfFreedom === null ? '∞' : fixed(line.degreesOfFreedom, 0)}</td>
              <td className="left">
                <span className="share">
                  <span style={{ width: `${share * 100}%` }} />
                </span>
                {`${fixed(share * 100, 0)} %`}
              </td>
              <td className="left">{line.source}</td>
            </tr>
          )
        })}
      </tbody>
      <tfoot>
        <tr>
          <th scope="row">Combined, and expanded with k = {fixed(k, 2)}</th>
          <td>{significant(Math.sqrt(sum), 2)}</td>
          <td colSpan={4} className="left">{`±${significant(expandedMk, 2)} mK`}</td>
        </tr>
      </tfoot>
    </table>
  )
}
