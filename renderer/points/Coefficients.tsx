import type { FitView } from '../../app/contract/studies.ts'
import { coefficientName } from '../../app/report/words.ts'
import { useInGrid } from '../parts/in-grid.ts'
import { Raised } from '../parts/Raised.tsx'
import { Table } from '../parts/Table.tsx'
import type { Column } from '../parts/table.column.ts'
import type { Measured } from '../text/measured.ts'
import { fixed, significant, unitSign } from '../text/numbers.ts'
import { coefficientDigits } from './points.model.ts'

type Coefficient = FitView['coefficients'][number]

interface Props {
  fit: FitView
  /** Each coefficient with its expanded uncertainty and k, as the report has them. */
  quoted: (c: Coefficient) => Measured
  onPull: (name: string) => void
}

/** The coefficients of a fit, each with its uncertainty. */
export function Coefficients({ fit, quoted, onPull }: Props) {
  const columns: Column<Coefficient>[] = [
    {
      id: 'name',
      name: 'Coefficient',
      heads: true,
      value: ({ name }) => coefficientName(fit.model, name),
    },
    {
      id: 'value',
      name: 'Value',
      value: ({ value }) => value,
      measured: quoted,
      show: (c) => <Value c={c} onPull={onPull} />,
    },
    {
      id: 'u',
      name: 'Standard uncertainty',
      value: ({ u }) => u,
      show: ({ u }) => <Raised text={significant(u, 2)} />,
    },
    {
      id: 'expanded',
      name: 'Expanded uncertainty',
      value: (c) => quoted(c).expanded,
      show: (c) => <Raised text={significant(quoted(c).expanded ?? Number.NaN, 2)} />,
    },
    { id: 'k', name: 'k', value: (c) => quoted(c).k, show: (c) => fixed(quoted(c).k, 2) },
    {
      id: 'unit',
      name: 'Unit',
      left: true,
      value: ({ unit }) => unitSign(unit) || '1',
      show: ({ unit }) => <Raised text={unitSign(unit) || '1'} />,
    },
  ]
  return (
    <Table
      label="Coefficients"
      className="table-narrow"
      rows={fit.coefficients}
      columns={columns}
      rowKey={({ name }) => name}
    />
  )
}

function Value({ c, onPull }: { c: Coefficient; onPull: (name: string) => void }) {
  const inGrid = useInGrid()
  return (
    <button
      type="button"
      className="digits-pull"
      tabIndex={inGrid ? -1 : 0}
      title="Unfold how this number came about"
      onClick={() => onPull(c.name)}
    >
      <Raised text={significant(c.value, coefficientDigits(c), -2)} />
    </button>
  )
}
