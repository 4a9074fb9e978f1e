import type { Comparison as ComparisonData } from '../../app/contract/studies.ts'
import { Button } from '../parts/Button.tsx'
import { Scroll } from '../parts/Scroll.tsx'
import { unitSign } from '../text/numbers.ts'

export function Comparison({ data, onClose }: { data: ComparisonData; onClose: () => void }) {
  const changed = data.lines.filter((line) => line.changed)
  return (
    <section className="sheet" aria-label="Comparison">
      <div className="row row-apart">
        <h3>{data.words}</h3>
        <Button look="quiet" onPress={onClose}>
          Close
        </Button>
      </div>
      <Scroll label="Numbers compared">
        <table className="table">
          <thead>
            <tr>
              <th scope="col" className="left">
                Number
              </th>
              <th scope="col">Here</th>
              <th scope="col">There</th>
              <th scope="col">Difference</th>
              <th scope="col">Unit</th>
            </tr>
          </thead>
          <tbody>
            {[...changed, ...data.lines.filter((line) => !line.changed)].map((line) => (
              <tr key={line.key} className={line.changed ? 'is-changed' : ''}>
                <th scope="row">{line.what}</th>
                <td>{line.old}</td>
                <td>{line.new}</td>
                <td>{line.changed ? line.difference : 'same'}</td>
                <td>{unitSign(line.unit)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Scroll>
    </section>
  )
}
