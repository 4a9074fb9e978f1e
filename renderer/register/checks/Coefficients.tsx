import type { FixedPointCalibration } from '../../../app/comparison/fixed-point.ts'
import { SUBRANGES } from '../../../app/thermometry/its90-subranges.ts'
import { Choice } from '../../parts/Choice.tsx'
import { fixed, significant } from '../../text/numbers.ts'
import { cellName } from './cells.model.ts'
import { DotPlot } from './DotPlot.tsx'

interface Props {
  calibration: FixedPointCalibration
  findings: readonly { severity: string; words: string }[]
  band: readonly { celsius: number; expandedMk: number }[]
  theme: string
  subrange: string | undefined
  onSubrange: (section: string | undefined) => void
}

const BY_POINTS = '-'
const SECTIONS = [
  { id: BY_POINTS, name: 'As the points allow' },
  ...SUBRANGES.map(({ section, lowC, highC }) => ({
    id: section,
    name: `${section}, ${fixed(lowC, 2)} to ${fixed(highC, 2)} °C`,
  })),
]

/** Coefficients with their uncertainty, what they were held against, and how uncertain a temperature found with them is. */
export function Coefficients({ calibration, findings, band, theme, subrange, onSubrange }: Props) {
  return (
    <section className="sheet" aria-label="Coefficients">
      <div className="row row-apart row-end">
        <h3>Coefficients of ITS-90</h3>
        <Choice
          label="Subrange, section of ITS-90"
          value={subrange ?? BY_POINTS}
          options={SECTIONS}
          onChange={(id) => onSubrange(id === BY_POINTS ? undefined : id)}
        />
      </div>
      <section className="table-scroll" aria-label="Coefficients with uncertainty">
        <table className="table table-narrow">
          <thead>
            <tr>
              <th scope="col" className="left">
                Name
              </th>
              <th scope="col">Value</th>
              <th scope="col">U</th>
              <th scope="col">k</th>
            </tr>
          </thead>
          <tbody>
            {calibration.coefficients.map(({ name, value, expanded, k }) => (
              <tr key={name}>
                <th scope="row">{name === 'rWtp' ? 'R(WTP) / Ω' : name}</th>
                <td>{name === 'rWtp' ? fixed(value, 7) : significant(value, 7)}</td>
                <td>{significant(expanded, 2)}</td>
                <td>{fixed(k, 2)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
      <ul className="checks" aria-label="Held against">
        {findings.map((finding) => (
          <li key={finding.words} className={`check check-${finding.severity}`}>
            <strong>{finding.words}</strong>
          </li>
        ))}
      </ul>
      <DotPlot
        label="Expanded uncertainty over the range"
        xTitle="t90 / °C"
        yTitle="U (k = 2) / mK"
        theme={theme}
        withZero
        series={[
          {
            name: 'Temperature found with the coefficients',
            joined: true,
            bare: true,
            dots: band.map(({ celsius, expandedMk }) => ({
              key: String(celsius),
              x: celsius,
              y: expandedMk,
              words: '',
            })),
          },
        ]}
      />
      <details>
        <summary>The points and what is left of them</summary>
        <table className="table table-narrow">
          <thead>
            <tr>
              <th scope="col" className="left">
                Cell
              </th>
              <th scope="col">t90 / °C</th>
              <th scope="col">W</th>
              <th scope="col">U(W)</th>
              <th scope="col">Left / mK</th>
            </tr>
          </thead>
          <tbody>
            {calibration.points.map((p) => (
              <tr key={`${p.fixedPoint}${p.w}`}>
                <th scope="row">{cellName(p.fixedPoint)}</th>
                <td>{fixed(p.t90C, 5)}</td>
                <td>{fixed(p.w, 8)}</td>
                <td>{significant(2 * p.uW, 2)}</td>
                <td>{fixed(p.residualMk, 3)}</td>
              </tr>
            ))}
          </tbody>
        </table>
        <ul className="faint">
          {calibration.fit.notes.map((note) => (
            <li key={note}>{note}</li>
          ))}
        </ul>
      </details>
    </section>
  )
}
