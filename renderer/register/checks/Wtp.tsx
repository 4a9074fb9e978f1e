import type { MeasuredWtpView } from '../../../app/contract/checks.ts'
import type { WtpEntry } from '../../../app/records/register.ts'
import { fixed } from '../../text/numbers.ts'
import { withU } from './written.ts'

type Row = MeasuredWtpView & { last: WtpEntry | undefined }

/** A relative change of R at the water triple point as a temperature, mK: R/(dR/dt) of platinum, ITS-90. */
const MK_PER_RELATIVE = 250.7e3

/** R(WTP) of each thermometer, before and after, and against the register's last. */
export function Wtp({ rows }: { rows: readonly Row[] }) {
  if (rows.length === 0) return null
  return (
    <>
      <section className="table-scroll" aria-label="R(WTP) of the session">
        <table className="table">
          <thead>
            <tr>
              <th scope="col" className="left">
                Thermometer
              </th>
              <th scope="col">Before / Ω</th>
              <th scope="col">After / Ω</th>
              <th scope="col">After less before / mK</th>
              <th scope="col">Taken</th>
              <th scope="col">Since the last / mK</th>
            </tr>
          </thead>
          <tbody>
            {rows.map((row) => (
              <tr key={row.thermometer}>
                <th scope="row">{row.name}</th>
                <td>{row.beforeOhm === null ? '–' : fixed(row.beforeOhm, 7)}</td>
                <td>{row.afterOhm === null ? '–' : fixed(row.afterOhm, 7)}</td>
                <td>
                  {row.changeMk === null
                    ? '–'
                    : `${fixed(row.changeMk, 2)}, U ${fixed(row.expandedChangeMk ?? 0, 2)}`}
                </td>
                <td>{withU(Number(row.ohm), row.uOhm, 'Ω')}</td>
                <td>
                  {row.last
                    ? `${fixed((Number(row.ohm) / Number(row.last.ohm) - 1) * MK_PER_RELATIVE, 2)} from ${row.last.date}`
                    : 'the first'}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
      <ul className="checks" aria-label="What it says">
        {rows.map((row) => (
          <li key={row.thermometer} className={`check check-${row.changed ? 'warning' : 'fine'}`}>
            <strong>
              {row.changed
                ? `${row.name} changed by more than its uncertainty. The value after is taken, for that is what it has now.`
                : `${row.name}: before and after agree, or it was measured once.`}
            </strong>
            <small>{row.note}</small>
          </li>
        ))}
      </ul>
    </>
  )
}
