import type { StartOptions, Station } from '../../station/station.ts'
import type { OrderDesk } from './order-desk.ts'

/**
 * Starts a night that measures items of orders: they are on the bench from now on, and measured once it has ended complete.
 * Returns the session's id.
 */
export async function measureItems(
  { station, orders }: { readonly station: Station; readonly orders: OrderDesk },
  ids: readonly string[],
  request: Omit<StartOptions, 'items'>,
): Promise<string> {
  const session = await station.startPlan({ ...request, items: orders.sessionItems(ids) })
  const act = { who: request.operator, why: `measured in session ${session}` }
  for (const id of ids) orders.move(id, 'on-bench', act, { session })
  if (ids.length === 0) return session
  station.touched('orders')
  void station.finished
    .then(({ ending }) => {
      if (ending !== 'complete' && ending !== 'complete-with-marks') return
      orders.moveOfSession(session, 'measured', act)
      station.touched('orders')
    })
    // What went wrong with the session is told by the session itself.
    .catch(() => undefined)
  return session
}
