import { type BridgeCurve, TAKEN_OUT_WORDS } from '../../../app/checks/bridge-curve.ts'
import type { BridgeTerms } from '../../../app/checks/bridge-terms.ts'
import type { BridgeCheckRecord } from '../../../app/records/register.ts'
import { Table } from '../../parts/Table.tsx'
import type { Column } from '../../parts/table.column.ts'
import { DotPlot } from '../../plots/DotPlot.tsx'
import { fixed } from '../../text/numbers.ts'
import { bridgeSeries } from './bridge-curve.series.ts'
import type { BridgePage, RatioDot, BridgeResult as Result, verdictOf } from './ratios.model.ts'
import { parts } from './written.ts'

interface Props {
  page: BridgePage
  result: Result
  verdict: ReturnType<typeof verdictOf>
  check: BridgeCheckRecord | undefined
  /** How the check enters the budget, in words. */
  budget: string | undefined
  theme: string
}

const ERROR_NAMES: Record<BridgePage, string> = {
  interchange: 'n n′ − 1',
  networks: 'Error of the bridge, without its part in proportion to n',
  ratios: 'Shown less known',
}

/** What the ratios say of the bridge: the verdict, the errors over the ratio, and what is left of them. */
export function BridgeResult({ page, result, verdict, check, budget, theme }: Props) {
  const { dots, curve, terms } = result
  const agrees = check?.agrees ?? dots.every((d) => d.agrees)
  return (
    <section className="sheet" aria-label="What they say of the bridge">
      <h3>What they say of the bridge</h3>
      <div className={`check check-${agrees ? 'fine' : 'warning'}`} role="status">
        <strong>{verdict}</strong>
        {budget && <span>{budget}</span>}
      </div>
      <DotPlot
        label={`${ERROR_NAMES[page]} against the ratio`}
        xTitle="Ratio n"
        yTitle={`${ERROR_NAMES[page]} / 10⁻⁹`}
        theme={theme}
        withZero
        across={[{ name: 'No error', y: 0, look: 'centre' }]}
        series={bridgeSeries(
          'Measured, bars k = 2',
          dots,
          page === 'interchange' ? [] : (curve?.curve ?? []),
        )}
      />
      <Table
        label="Errors, one row each"
        rows={dots.map((dot, i) => ({ ...dot, residual: terms?.residuals[i] ?? null }))}
        columns={columnsOf(page)}
        rowKey={({ name, ratio }) => `${name} ${ratio}`}
      />
      {curve?.takenOut.map((part) => (
        <p key={part}>{TAKEN_OUT_WORDS[part]}</p>
      ))}
      {terms && curve && <Terms terms={terms} resistors={curve.resistors} />}
      {check && (
        <p className="faint">
          {`Linearity found, standard uncertainty of ratio: ${parts(check.linearityRatio)}, ${page === 'interchange' ? 'from d² / (n² + n′²)' : 'the root mean square of the errors and what is uncertain of them'}.`}
        </p>
      )}
    </section>
  )
}

type Row = RatioDot & { residual: number | null }

function columnsOf(page: BridgePage): Column<Row>[] {
  const inRatio = (id: string, name: string, value: (row: Row) => number | null): Column<Row> => ({
    id,
    name,
    value,
    show: (row) => {
      const shown = value(row)
      return shown === null ? null : parts(shown)
    },
  })
  return [
    {
      id: 'name',
      name: page === 'networks' ? 'Combination' : 'Pair',
      heads: true,
      value: ({ name }) => name,
    },
    { id: 'ratio', name: 'n', value: ({ ratio }) => ratio, show: ({ ratio }) => fixed(ratio, 9) },
    inRatio('error', ERROR_NAMES[page], ({ error }) => error),
    inRatio('expanded', 'U (k = 2)', ({ expanded }) => expanded),
    ...(page === 'networks' ? [inRatio('residual', 'Left after the terms', ({ residual }) => residual)] : []),
    {
      id: 'verdict',
      name: 'Verdict',
      left: true,
      value: ({ agrees }) => (agrees ? 'within U' : 'beyond U'),
    },
  ]
}

function Terms({ terms, resistors }: { terms: BridgeTerms; resistors: BridgeCurve['resistors'] }) {
  return (
    <details>
      <summary>Resistors and terms found by least squares</summary>
      <dl className="facts">
        {resistors.map(({ name, ratio, u }) => (
          <div className="fact" key={name}>
            <dt>{name}</dt>
            <dd>{`${fixed(ratio, 9)} of the bridge’s reference, U ${parts(2 * u)}`}</dd>
          </div>
        ))}
        {terms.terms.map(({ power, value, u }) => (
          <div className="fact" key={power}>
            <dt>{power === 0 ? 'Constant term' : power === 2 ? 'Term in n²' : `Term in n^${power}`}</dt>
            <dd>{`${parts(value)}, U ${parts(2 * u)}`}</dd>
          </div>
        ))}
        <div className="fact">
          <dt>Degrees of freedom</dt>
          <dd>{`${terms.degreesOfFreedom}; chi-squared over them ${fixed(terms.reducedChiSquared, 2)}${terms.reducedChiSquared > 1 ? ', so that U of the terms comes from the scatter' : ''}`}</dd>
        </div>
      </dl>
    </details>
  )
}
