import { useDeferredValue, useState } from 'react'
import { first } from '../../app/base/lists.ts'
import { useAct } from '../client/act.ts'
import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useStation } from '../client/state.ts'
import { OrderList } from '../orders/OrderList.tsx'
import { useBackStep } from '../page/hooks.ts'
import { goTo, say, usePath } from '../page/page.ts'
import { Problem } from '../parts/Problem.tsx'
import { save } from '../text/save.ts'
import { Sheet } from './Sheet.connect.tsx'
import { readSheetPath } from './sheet.model.ts'

const NEW = 'new'
const toList = () => goTo('orders', [])

/** Every order, or the job sheet of one: #orders, #orders/new, #orders/<id>, with the section and item that it opens at. */
export default function OrdersPlace() {
  const address = readSheetPath(usePath('orders'))
  const id = address?.order
  const version = useStation((state) => state?.versions.orders)
  useBackStep(id !== undefined, toList)
  const view = useAnswer(id === undefined || id === NEW ? undefined : () => station.orders.get({ id }), [
    id,
    version,
  ])
  if (address === undefined) return <List />
  if (id !== NEW && view.data?.order.id !== id) return <Problem words={view.problem} />
  return <Sheet key={id} view={id === NEW ? undefined : view.data} address={address} onClose={toList} />
}

function List() {
  const version = useStation((state) => state?.versions.orders)
  const [search, setSearch] = useState('')
  const { problem, attempt } = useAct()
  const asked = useDeferredValue(search)
  const list = useAnswer(() => station.orders.list({ search: asked, most: 500 }), [asked, version])
  return (
    <OrderList
      rows={list.data?.rows}
      total={list.data?.total ?? 0}
      search={search}
      problem={problem ?? list.problem}
      onSearch={setSearch}
      onOpen={(order) => goTo('orders', [order])}
      onNew={() => goTo('orders', [NEW])}
      onFill={() => goTo('orders', [first(list.data!.rows).id, 'plan'])}
      onImport={(file) =>
        void attempt(
          file.text().then((text) => station.orders.importCsv({ text })),
          ({ words }) => {
            say(words)
          },
        )
      }
      onExport={() =>
        void attempt(station.orders.exportCsv(), (text) => save(new Blob([text]), 'orders.csv'))
      }
    />
  )
}
