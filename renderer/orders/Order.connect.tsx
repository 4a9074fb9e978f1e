import { useMemo, useState } from 'react'
import { utcDay } from '../../app/base/times.ts'
import type { OrderView } from '../../app/contract/calls-orders.ts'
import { useAct } from '../client/act.ts'
import { useAnswer, wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useDraft } from '../client/draft.ts'
import { useThermometers } from '../client/records.ts'
import { stationState, useStation } from '../client/state.ts'
import { writeAddress } from '../page/address.ts'
import { say } from '../page/page.ts'
import { OrderForm } from './OrderForm.tsx'
import { draftOf, freshOrder, NEW_CUSTOMER, nextNumber, type OrderDraft, readOrder } from './order.model.ts'

const NEW = 'order/new'

interface Props {
  view: OrderView | undefined
  /** Item that the address points at. */
  item: string | undefined
  onSaved: (id: string) => void
}

/** The form of one order, or of a new one. */
export function OrderNow({ view, item, onSaved }: Props) {
  const versions = useStation((state) => state?.versions)
  const customers = useAnswer(() => station.orders.customers(), [versions?.orders])
  const orders = useAnswer(view ? undefined : () => station.orders.list({ most: 500 }), [versions?.orders])
  const key = view ? `order/${view.order.id}` : NEW
  const { draft, asked, set, drop } = useDraft<OrderDraft>(key)
  const [tried, setTried] = useState(false)
  const { problem, attempt, refuse } = useAct()
  const fresh = useMemo(() => {
    if (view) return draftOf(view)
    if (!orders.data) return undefined
    const utcUs = stationState.getState().now?.utcUs ?? Date.now() * 1000
    const today = utcDay(utcUs)
    const numbers = orders.data.rows.map(({ number }) => number)
    const order = freshOrder(`o-${utcUs.toString(36)}`, nextNumber(numbers, today.slice(0, 4)), today)
    // The first customer of a laboratory can only be a new one.
    return customers.data?.length === 0 ? { ...order, newCustomer: NEW_CUSTOMER } : order
  }, [view, orders.data, customers.data])
  const now = draft ?? fresh
  const items = now?.items ?? []
  const thermometers = useThermometers(
    items.map(({ thermometer }) => thermometer),
    items.map(({ serial }) => serial),
  )
  if (!asked || !now || !customers.data || !thermometers.data) return null
  const known = thermometers.data
  const { read, problems } = readOrder(now, known, customers.data)
  const save = () =>
    attempt(async () => {
      setTried(true)
      if (!read) return

      if (read.customer) await station.orders.saveCustomer({ customer: read.customer })
      const { words } = await station.orders.save({
        order: read.order,
        items: read.items,
        thermometers: read.thermometers,
      })
      drop()
      setTried(false)
      say(words)
      onSaved(read.order.id)
    })
  return (
    <OrderForm
      draft={now}
      customers={customers.data}
      known={known}
      addressed={item}
      addressOf={view && ((one) => writeAddress({ place: 'orders', path: [view.order.id, 'items', one] }))}
      problems={tried ? problems : {}}
      problem={problem}
      changed={draft !== undefined}
      onChange={set}
      onSave={() => void save()}
      onReceipt={view && (() => void printReceipt(view.order.id, refuse))}
    />
  )
}

/** Opens the receipt as a page of its own, ready to print. */
async function printReceipt(id: string, onProblem: (words: string) => void): Promise<void> {
  try {
    const html = await station.orders.receipt({ id })
    const frame = document.createElement('iframe')
    frame.className = 'unseen'
    frame.title = 'Receipt'
    frame.srcdoc = html
    frame.addEventListener('load', () => {
      frame.contentWindow?.print()
      setTimeout(() => frame.remove(), 60_000)
    })
    document.body.append(frame)
  } catch (fault) {
    onProblem(wordsOf(fault))
  }
}
