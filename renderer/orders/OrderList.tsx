import { FileTrigger } from 'react-aria-components'
import { counted } from '../../app/base/plural.ts'
import type { OrderLine } from '../../app/contract/calls-orders.ts'
import { ITEM_STATES } from '../../app/records/order.ts'
import { ITEM_STATE_WORDS } from '../../app/records/order-table.ts'
import { Button } from '../parts/Button.tsx'
import { Empty } from '../parts/Empty.tsx'
import { Field } from '../parts/Field.tsx'
import { Problem } from '../parts/Problem.tsx'
import { Table } from '../parts/Table.tsx'
import type { Column } from '../parts/table.column.ts'

interface Props {
  rows: readonly OrderLine[] | undefined
  total: number
  search: string
  problem: string | undefined
  onSearch: (search: string) => void
  onOpen: (id: string) => void
  onNew: () => void
  onFill: () => void
  onImport: (file: File) => void
  onExport: () => void
}

const stateWords = ({ states }: OrderLine) =>
  ITEM_STATES.flatMap((state) => (states[state] ? [`${states[state]} ${ITEM_STATE_WORDS[state]}`] : [])).join(
    ', ',
  )

/** Every order, found by number, customer or remark. */
export function OrderList(props: Props) {
  const { rows, total, search, problem } = props
  const columns: Column<OrderLine>[] = [
    {
      id: 'number',
      name: 'Order',
      heads: true,
      value: ({ number }) => number,
      show: ({ id, number }) => (
        <Button look="quiet" onPress={() => props.onOpen(id)} label={`Open order ${number}`}>
          {number}
        </Button>
      ),
    },
    {
      id: 'customer',
      name: 'Customer',
      left: true,
      value: ({ customer }) => customer,
      look: () => 'cell-words',
    },
    { id: 'received', name: 'Received', left: true, value: ({ received }) => received },
    { id: 'wanted', name: 'Wanted by', left: true, value: ({ wantedBy }) => wantedBy ?? '' },
    { id: 'items', name: 'Items', value: ({ items }) => items },
    { id: 'states', name: 'Where they are', left: true, value: stateWords, look: () => 'cell-words' },
  ]
  const importButton = (
    <FileTrigger
      acceptedFileTypes={['.csv', '.txt']}
      onSelect={(files) => files?.[0] && props.onImport(files[0])}
    >
      <Button onPress={() => undefined}>Import a table</Button>
    </FileTrigger>
  )
  if (rows?.length === 0 && search === '')
    return (
      <>
        <Problem words={problem} />
        <Empty
          title="No order yet"
          buttons={
            <>
              <Button look="main" onPress={props.onNew}>
                New order
              </Button>
              {importButton}
            </>
          }
        >
          <p>
            An order says who sends which thermometers and what is asked of each. Its job sheet then leads
            from the receipt through bench, night and points to the signed certificates.
          </p>
        </Empty>
      </>
    )
  return (
    <div className="stack">
      <div className="row row-end row-apart">
        <Field label="Search orders" type="search" value={search} onChange={props.onSearch} />
        <div className="row">
          <Button look="main" onPress={props.onNew}>
            New order
          </Button>
          <Button onPress={props.onFill}>Fill the bath</Button>
          {importButton}
          <Button onPress={props.onExport}>Export CSV</Button>
        </div>
      </div>
      <Problem words={problem} />
      {rows && (
        <>
          <Table label="Orders" rows={rows} columns={columns} rowKey={({ id }) => id} />
          <p className="faint">{`${counted(total, 'order')}.`}</p>
        </>
      )}
    </div>
  )
}
