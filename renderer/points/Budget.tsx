import type { FitView } from '../../app/contract/studies.ts'
import { Table } from '../parts/Table.tsx'
import type { Column } from '../parts/table.column.ts'
import { fixed, significant } from '../text/numbers.ts'

type Line = FitView['points'][number]['budget'][number]

interface Props {
  label: string
  lines: readonly Line[]
  expandedMk: number
  k: number
}

interface Row {
  name: string
  uMk: number
  kind: string
  degreesOfFreedom: number | null | undefined
  share: number | null
  source: string
}

const COLUMNS: readonly Column<Row>[] = [
  { id: 'name', name: 'Contribution', heads: true, value: ({ name }) => name },
  {
    id: 'u',
    name: 'u',
    unit: 'mK',
    about: 'Standard uncertainty, as it acts on the temperature',
    value: ({ uMk }) => uMk,
    show: ({ uMk }) => significant(uMk, 2),
    measured: ({ uMk, name, kind }) => ({
      value: uMk,
      unit: 'mK',
      expanded: null,
      k: 1,
      digits: 2,
      about: kind ? `standard uncertainty, type ${kind}` : name,
    }),
  },
  { id: 'kind', name: 'Type', value: ({ kind }) => kind },
  {
    id: 'dof',
    name: 'Degrees of freedom',
    value: ({ degreesOfFreedom }) => (degreesOfFreedom === null ? '∞' : (degreesOfFreedom ?? null)),
    show: ({ degreesOfFreedom: n }) => (n === null ? '∞' : n === undefined ? '' : fixed(n, 0)),
  },
  {
    id: 'share',
    name: 'Share of the variance',
    unit: '%',
    left: true,
    value: ({ share }) => (share === null ? null : share * 100),
    show: ({ share }) =>
      share !== null && (
        <>
          <span className="share">
            <span style={{ width: `${share * 100}%` }} />
          </span>
          {shareWords(share)}
        </>
      ),
  },
  {
    id: 'source',
    name: 'Where from',
    left: true,
    value: ({ source }) => source,
    look: () => 'cell-words',
  },
]

const shareWords = (share: number): string => (share < 0.005 ? 'under 1' : fixed(share * 100, 0))

/** An uncertainty budget by JCGM 100: each line, how much of the whole it makes, and what they come to. */
export function Budget({ label, lines, expandedMk, k }: Props) {
  const variance = lines.reduce((total, line) => total + line.uMk ** 2, 0)
  const rows = lines.map((line) => ({ ...line, share: variance > 0 ? line.uMk ** 2 / variance : 0 }))
  const none = { kind: '', degreesOfFreedom: undefined, share: null }
  const sums: Row[] = [
    {
      ...none,
      name: 'Combined standard uncertainty',
      uMk: expandedMk / k,
      source: '',
    },
    { ...none, name: `Expanded uncertainty, k = ${fixed(k, 2)}`, uMk: expandedMk, source: '' },
  ]
  return (
    <Table
      label={label}
      className="budget"
      rows={rows}
      last={sums}
      columns={COLUMNS}
      rowKey={({ name }) => name}
      rowLook={({ share }) => (share === null ? 'is-sum' : '')}
    />
  )
}
