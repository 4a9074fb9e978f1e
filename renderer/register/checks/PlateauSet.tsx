import { Button } from '../../parts/Button.tsx'
import { fixed } from '../../text/numbers.ts'
import { cellName } from './cells.model.ts'
import type { SetPlateau } from './checks.store.ts'
import { withU } from './written.ts'

interface Props {
  set: readonly SetPlateau[]
  thermometer: string
  missing: string | undefined
  onRemove: (key: string) => void
  onClear: () => void
}

/** The plateaus of one thermometer that belong together. */
export function PlateauSet({ set, thermometer, missing, onRemove, onClear }: Props) {
  return (
    <section className="sheet" aria-label="The set">
      <div className="row row-apart">
        <h3>{`The set of ${thermometer}`}</h3>
        <Button look="quiet" onPress={onClear}>
          Empty the set
        </Button>
      </div>
      <section className="table-scroll" aria-label="Plateaus in the set">
        <table className="table">
          <thead>
            <tr>
              <th scope="col" className="left">
                Cell
              </th>
              <th scope="col" className="left">
                Session
              </th>
              <th scope="col">t90 / °C</th>
              <th scope="col">R at zero current</th>
              <th scope="col">U / mK</th>
              <th scope="col">
                <span className="unseen">Take out</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {set.map((p) => (
              <tr key={p.key}>
                <th scope="row">{cellName(p.fixedPoint)}</th>
                <td className="left">{p.sessionName}</td>
                <td>{fixed(p.found.t90C, 5)}</td>
                <td>{withU(p.found.ohm, (p.found.uMk / 1e3) * p.found.ohmPerKelvin, 'Ω')}</td>
                <td>{fixed(2 * p.found.uMk, 2)}</td>
                <td>
                  <Button
                    look="quiet"
                    label={`Take ${cellName(p.fixedPoint)} out of the set`}
                    onPress={() => onRemove(p.key)}
                  >
                    Take out
                  </Button>
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
      {missing && <p>{missing}</p>}
    </section>
  )
}
