import type { FitView } from '../../app/contract/studies.ts'
import { coefficientName } from '../../app/report/words.ts'
import { useInGrid } from '../parts/in-grid.ts'
import { Raised } from '../parts/Raised.tsx'
import { Table } from '../parts/Table.tsx'
import type { Column } from '../parts/table.column.ts'
import { fixed, significant, unitSign } from '../text/numbers.ts'
import { coefficientDigits, coefficientMeasured } from './points.model.ts'

type Coefficient = FitView['coefficients'][number]

interface Props {
  fit: FitView
  onPull: (name: string) => void
}

/** The coefficients of a fit, each with its uncertainty. */
export function Coefficients({ fit, onPull }: Props) {
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
      measured: coefficientMeasured,
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
      value: ({ u, k }) => k * u,
      show: (c) => <Raised text={significant(c.k * c.u, 2)} />,
    },
    { id: 'k', name: 'k', value: ({ k }) => k, show: ({ k }) => fixed(k, 2) },
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
