import { z } from 'zod'
import { asTold, said } from '../../app/messages/said.ts'
import { FaultError, FaultOrder } from './order.ts'

/** Orders for a whole run, each with its `atS`. */
export type FaultScript = readonly FaultOrder[]

/** Reads a script: one order per line as JSON; empty lines and lines that begin with # are skipped. */
export function parseFaultScript(text: string): FaultScript {
  const orders: FaultOrder[] = []
  for (const [index, raw] of text.split(/\r?\n/).entries()) {
    const line = raw.trim()
    if (line === '' || line.startsWith('#')) continue
    let value: unknown
    try {
      value = JSON.parse(line)
    } catch {
      throw new FaultError('not-json', said('order-not-json', { line: line.slice(0, 60) }), index + 1)
    }
    const parsed = FaultOrder.safeParse(value)
    if (!parsed.success) {
      throw new FaultError(
        'not-an-order',
        asTold(z.prettifyError(parsed.error).replaceAll('\n', ' ')),
        index + 1,
      )
    }
    orders.push(parsed.data)
  }
  return orders
}
