import { escapeMarkup } from '../base/markup.ts'
import type { OrderView } from '../contract/calls-orders.ts'
import { STYLE } from './html-style.ts'

/** What a customer gets at the counter: what was received, in which condition, and what is asked of it. A page to print. */
export function receiptHtml(
  { order, customer, items }: OrderView,
  laboratory: { name: string; address: readonly string[] },
): string {
  const row = (cells: readonly string[]) =>
    `<tr>${cells.map((c) => `<td>${escapeMarkup(c)}</td>`).join('')}</tr>`
  const rows = items.map(({ item, thermometer }) =>
    row([
      thermometer?.serial || 'none',
      thermometer?.name ?? item.thermometer,
      item.condition || 'nothing noted',
      item.asked.points.length > 0
        ? `${item.asked.points.join(', ')} °C`
        : `${item.asked.lowC} °C to ${item.asked.highC} °C`,
    ]),
  )
  const facts: [string, string][] = [
    ['Laboratory', [laboratory.name || 'not stated', ...laboratory.address].join(', ')],
    ['Customer', [customer?.name ?? '', ...(customer?.address ?? [])].join(', ')],
    ['Received', order.received],
    ['Wanted by', order.wantedBy ?? 'no date agreed'],
    ...(order.remarks.length > 0 ? [['Remarks', order.remarks.join(' ')] as [string, string]] : []),
  ]
  return (
    `<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="color-scheme" content="light dark">` +
    `<title>Receipt ${escapeMarkup(order.number)}</title><style>${STYLE}</style></head><body><main>` +
    `<h1>Receipt ${escapeMarkup(order.number)}</h1>` +
    `<dl>${facts.map(([k, v]) => `<dt>${escapeMarkup(k)}</dt><dd>${escapeMarkup(v)}</dd>`).join('')}</dl>` +
    `<div class="table"><table><caption>Items received</caption><thead><tr><th scope="col">Serial number</th>` +
    `<th scope="col">Thermometer</th><th scope="col">Condition</th><th scope="col">Asked for</th></tr></thead>` +
    `<tbody>${rows.join('')}</tbody></table></div>` +
    `<p class="small">This is a receipt and no certificate: it states no result.</p></main></body></html>`
  )
}
