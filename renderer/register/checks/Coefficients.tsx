import type { FixedPointCalibration } from '../../../app/checks/fixed-point-calibration.ts'
import { SUBRANGES } from '../../../app/thermometry/its90-subranges.ts'
import { Choice } from '../../parts/Choice.tsx'
import { Table } from '../../parts/Table.tsx'
import type { Column } from '../../parts/table.column.ts'
import { DotPlot } from '../../plots/DotPlot.tsx'
import { measured } from '../../text/measured.ts'
import { fixed, significant } from '../../text/numbers.ts'
import { cellName } from './cells.model.ts'

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

const COEFFICIENTS: Column<FixedPointCalibration['coefficients'][number]>[] = [
  { id: 'name', name: 'Name', heads: true, value: ({ name }) => (name === 'rWtp' ? 'R(WTP) / Ω' : name) },
  {
    id: 'value',
    name: 'Value',
    value: ({ value }) => value,
    show: ({ name, value }) => (name === 'rWtp' ? fixed(value, 7) : significant(value, 7)),
    measured: ({ name, value, u, k }) => measured(value, name === 'rWtp' ? 'ohm' : '', u, k),
  },
  {
    id: 'expanded',
    name: 'U',
    value: ({ expanded }) => expanded,
    show: ({ expanded }) => significant(expanded, 2),
  },
  { id: 'k', name: 'k', value: ({ k }) => k, show: ({ k }) => fixed(k, 2) },
]

const POINTS: Column<FixedPointCalibration['points'][number]>[] = [
  { id: 'cell', name: 'Cell', heads: true, value: ({ fixedPoint }) => cellName(fixedPoint) },
  { id: 't90', name: 't90', unit: 'degC', value: ({ t90C }) => t90C, show: ({ t90C }) => fixed(t90C, 5) },
  { id: 'w', name: 'W', value: ({ w }) => w, show: ({ w }) => fixed(w, 8) },
  { id: 'uW', name: 'U(W)', value: ({ uW }) => 2 * uW, show: ({ uW }) => significant(2 * uW, 2) },
  {
    id: 'left',
    name: 'Left',
    unit: 'mK',
    value: ({ residualMk }) => residualMk,
    show: ({ residualMk }) => fixed(residualMk, 3),
  },
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
      <Table
        label="Coefficients with uncertainty"
        rows={calibration.coefficients}
        columns={COEFFICIENTS}
        rowKey={({ name }) => name}
      />
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
        <Table
          label="Points of the calibration"
          rows={calibration.points}
          columns={POINTS}
          rowKey={({ fixedPoint, w }) => `${fixedPoint}${w}`}
        />
        <ul className="faint">
          {calibration.fit.notes.map((note) => (
            <li key={note}>{note}</li>
          ))}
        </ul>
      </details>
    </section>
  )
}
