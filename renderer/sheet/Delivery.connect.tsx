import { useState } from 'react'
import type { OrderView } from '../../app/contract/calls-orders.ts'
import { useAct } from '../client/act.ts'
import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useStation } from '../client/state.ts'
import { Delivery } from './Delivery.tsx'

interface Props {
  session: string
  view: OrderView
  /** Handed over in another way: only the items move on. */
  onHandedOver: () => void
}

/** What the customer of an order gets, and the ways it goes out. */
export function DeliveryNow({ session, view, onHandedOver }: Props) {
  const versions = useStation((state) => state?.versions)
  const asked = useAnswer(
    () => station.orders.parcels({ session }),
    [session, versions?.points, versions?.orders],
  )
  const [said, setSaid] = useState<string>()
  const { problem, working, attempt } = useAct()
  const customer = view.customer?.name
  const parcel = asked.data?.parcels.find((one) => one.customer === customer)
  if (!parcel || customer === undefined) return null
  const go = (mail: boolean) => {
    attempt(station.orders.deliver({ session, customer, mail }), ({ words }) => setSaid(words))
  }
  return (
    <Delivery
      parcel={parcel}
      canMail={asked.data!.canMail}
      working={working !== undefined}
      said={said}
      problem={problem ?? asked.problem}
      delivered={view.items.every(({ item }) => item.state === 'delivered')}
      onFolder={() => go(false)}
      onMail={() => go(true)}
      onHandedOver={onHandedOver}
    />
  )
}
