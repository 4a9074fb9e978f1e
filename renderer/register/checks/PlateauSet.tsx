import { Button } from '../../parts/Button.tsx'
import { Table } from '../../parts/Table.tsx'
import type { Column } from '../../parts/table.column.ts'
import { measured } from '../../text/measured.ts'
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

const uOhm = ({ found }: SetPlateau) => (found.uMk / 1e3) * found.ohmPerKelvin

const columnsOf = (onRemove: (key: string) => void): Column<SetPlateau>[] => [
  { id: 'cell', name: 'Cell', heads: true, value: ({ fixedPoint }) => cellName(fixedPoint) },
  { id: 'session', name: 'Session', left: true, value: ({ sessionName }) => sessionName },
  {
    id: 't90',
    name: 't90',
    unit: 'degC',
    value: ({ found }) => found.t90C,
    show: ({ found }) => fixed(found.t90C, 5),
  },
  {
    id: 'ohm',
    name: 'R at zero current',
    unit: 'ohm',
    value: ({ found }) => found.ohm,
    show: (row) => withU(row.found.ohm, uOhm(row), 'Ω'),
    measured: (row) => measured(row.found.ohm, 'ohm', uOhm(row)),
  },
  {
    id: 'expanded',
    name: 'U',
    unit: 'mK',
    value: ({ found }) => 2 * found.uMk,
    show: ({ found }) => fixed(2 * found.uMk, 2),
  },
  {
    id: 'acts',
    name: 'Take out',
    acts: true,
    value: () => null,
    show: ({ key, fixedPoint }) => (
      <Button look="quiet" label={`Take out ${cellName(fixedPoint)}`} onPress={() => onRemove(key)}>
        Take out
      </Button>
    ),
  },
]

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
      <Table label="Plateaus in the set" rows={set} columns={columnsOf(onRemove)} rowKey={({ key }) => key} />
      {missing && <p>{missing}</p>}
    </section>
  )
}
