import type { ITEM_STATES } from './order.ts'

/** Columns of the table of items, as it is written to a file and read from one. */
export const ORDER_COLUMNS = [
  'order',
  'customer',
  'received',
  'wanted by',
  'thermometer',
  'serial number',
  'from / degC',
  'to / degC',
  'points / degC',
  'condition',
  'state',
] as const

/** What stands of an item's state in a table and on a screen. */
export const ITEM_STATE_WORDS: Readonly<Record<(typeof ITEM_STATES)[number], string>> = {
  received: 'received',
  'on-bench': 'on the bench',
  measured: 'measured',
  reviewed: 'reviewed',
  signed: 'signed',
  delivered: 'delivered',
}
