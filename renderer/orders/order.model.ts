import { z } from 'zod'
import type { OrderView } from '../../app/contract/calls-orders.ts'
import type { ItemWish, LANGUAGES } from '../../app/records/certificate.ts'
import { Customer } from '../../app/records/customer.ts'
import { Item, Order } from '../../app/records/order.ts'
import { Thermometer } from '../../app/records/register.ts'
import { isSameThermometer } from '../../app/records/same-thermometer.ts'
import { CELSIUS_UNITS, readNumber } from '../text/numbers.ts'

type Language = (typeof LANGUAGES)[number]

/** An order as it is typed: numbers are still text, so that a half-typed one is not lost. */
export interface OrderDraft {
  id: string
  number: string
  customer: string
  /** A customer that the register has not got yet; its name and address. */
  newCustomer: CustomerDraft | null
  received: string
  wantedBy: string
  remarks: string
  items: readonly ItemDraft[]
}

/** A customer as it is typed: a new one, or one that is changed. */
export interface CustomerDraft {
  /** null: a new one. */
  id: string | null
  name: string
  address: string
  contact: string
  email: string
  language: string
  /** Empty: as the language has it. */
  decimalSign: '' | '.' | ','
}

export interface ItemDraft {
  id: string
  /** Register id; empty while it is new. */
  thermometer: string
  serial: string
  name: string
  kind: Thermometer['kind']
  lowC: string
  highC: string
  /** Temperatures apart by spaces; empty: the laboratory chooses. */
  points: string
  condition: string
  occasion: Item['occasion']
  tolerance: '' | 'AA' | 'A' | 'B' | 'C'
  construction: '' | 'wire-wound' | 'film'
  /** Second language of its certificate, beside the customer's; empty: none. */
  second: '' | Language
  /** Step of its interpolation table, K; empty: none. */
  tableStep: string
  /** The budgets of its points stand on the certificate. Drafts of an earlier day do not have it. */
  budget?: boolean
  kept: Partial<Item>
}

export const ITEM_KINDS: readonly { id: Thermometer['kind']; name: string }[] = [
  { id: 'prt', name: 'Industrial platinum (IPRT)' },
  { id: 'sprt', name: 'Standard platinum (SPRT)' },
  { id: 'thermistor', name: 'Thermistor' },
  { id: 'thermocouple', name: 'Thermocouple' },
]

export const freshItem = (id: string): ItemDraft => ({
  id,
  thermometer: '',
  serial: '',
  name: '',
  kind: 'prt',
  lowC: '',
  highC: '',
  points: '',
  condition: '',
  occasion: 'as-found',
  tolerance: '',
  construction: '',
  second: '',
  tableStep: '',
  budget: false,
  kept: {},
})

/** A customer before anything of it is typed. */
export const NEW_CUSTOMER: CustomerDraft = {
  id: null,
  name: '',
  address: '',
  contact: '',
  email: '',
  language: 'en',
  decimalSign: '',
}

/** A customer that is known, to be changed. */
export const customerDraft = (of: Customer): CustomerDraft => ({
  id: of.id,
  name: of.name,
  address: of.address.join('\n'),
  contact: of.contact,
  email: of.email,
  language: of.language,
  decimalSign: of.decimalSign ?? '',
})

export const freshOrder = (id: string, number: string, today: string): OrderDraft => ({
  id,
  number,
  customer: '',
  newCustomer: null,
  received: today,
  wantedBy: '',
  remarks: '',
  items: [freshItem(`${id}-1`)],
})

export function draftOf({ order, items }: OrderView): OrderDraft {
  return {
    id: order.id,
    number: order.number,
    customer: order.customer,
    newCustomer: null,
    received: order.received,
    wantedBy: order.wantedBy ?? '',
    remarks: order.remarks.join('\n'),
    items: items.map(({ item, thermometer }) => ({
      id: item.id,
      thermometer: item.thermometer,
      serial: thermometer?.serial ?? '',
      name: thermometer?.name ?? '',
      kind: thermometer?.kind ?? 'prt',
      lowC: String(item.asked.lowC),
      highC: String(item.asked.highC),
      points: item.asked.points.join(' '),
      condition: item.condition,
      occasion: item.occasion,
      tolerance: item.wish?.conformity?.class ?? '',
      construction: thermometer?.construction ?? '',
      second: item.wish?.languages?.[1] ?? '',
      tableStep: item.wish?.tableStepK === undefined ? '' : String(item.wish.tableStepK),
      budget: item.wish?.budget === true,
      kept: item,
    })),
  }
}

/** The number after the newest, written as wide: '2026-0018' after '2026-0017', the year's first where there is none. */
export function nextNumber(numbers: readonly string[], year: string): string {
  const taken = numbers.flatMap((n) => {
    const match = new RegExp(`^${year}-(\\d+)$`).exec(n)
    return match ? [match[1]!] : []
  })
  const width = Math.max(3, ...taken.map((digits) => digits.length))
  return `${year}-${String(Math.max(0, ...taken.map(Number)) + 1).padStart(width, '0')}`
}

export interface ReadOrder {
  order: Order
  items: Item[]
  /** Those that the register does not have yet. */
  thermometers: Thermometer[]
  /** The customer where it is new or was changed. */
  customer: Customer | null
}

/** What the draft makes, or what is missing by field: 'number', 'customer', 'items', '<item id>/<field>'. */
export function readOrder(
  draft: OrderDraft,
  known: readonly Thermometer[],
  customers: readonly Customer[] = [],
): { read: ReadOrder | undefined; problems: Record<string, string> } {
  const problems: Record<string, string> = {}
  if (draft.number.trim() === '') problems.number = 'Give the order a number.'
  // Drafts are kept for days: one from before a field was there lacks it.
  const typed = draft.newCustomer && { ...NEW_CUSTOMER, ...draft.newCustomer }
  const customerName = ownerOf(draft, customers)
  if (typed ? customerName === '' : draft.customer === '')
    problems.customer = draft.newCustomer
      ? 'Enter the name of the customer.'
      : 'Choose the customer, or enter a new one.'
  if (typed && customers.some(({ id, name }) => name === customerName && id !== typed.id))
    problems.customer = 'A customer of this name is known already: choose it in the list.'
  if (!isDay(draft.received)) problems.received = 'A date such as 2026-02-10.'
  if (draft.wantedBy !== '' && !isDay(draft.wantedBy))
    problems.wantedBy = 'A date such as 2026-02-10, or nothing.'
  if (draft.items.length === 0) problems.items = 'Add the thermometers that came with the order.'
  const customer = typed ? (typed.id ?? idOf('c', customerName)) : draft.customer
  const email = typed?.email.trim() ?? ''
  if (email !== '' && !z.email().safeParse(email).success)
    problems.email = 'An e-mail address such as lab@dairy.example, or nothing.'
  const language = (typed?.language ??
    customers.find(({ id }) => id === customer)?.language ??
    'en') as Language
  const items: Item[] = []
  const thermometers: Thermometer[] = []
  for (const given of draft.items) {
    const item = { ...freshItem(given.id), ...given }
    const say = (field: string, words: string) => {
      problems[`${item.id}/${field}`] = words
    }
    const thermometer =
      known.find(({ id }) => id === item.thermometer) ?? bySerial(known, item.serial, customerName)
    if (!thermometer && item.serial.trim() === '' && item.name.trim() === '')
      say('serial', 'Enter its serial number.')
    const lowC = readNumber(item.lowC, CELSIUS_UNITS)
    const highC = readNumber(item.highC, CELSIUS_UNITS)
    if (lowC === undefined) say('lowC', 'A temperature in °C.')
    if (highC === undefined) say('highC', 'A temperature in °C.')
    if (lowC !== undefined && highC !== undefined && highC < lowC) say('highC', 'Not below the lower end.')
    const points = item.points
      .split(/[\s;]+/)
      .filter(Boolean)
      .map((p) => readNumber(p, CELSIUS_UNITS))
    if (points.includes(undefined)) say('points', 'Temperatures in °C, apart by spaces.')
    const tableStep = item.tableStep.trim() === '' ? null : readNumber(item.tableStep, { K: 1 })
    if (tableStep === undefined || (tableStep !== null && tableStep <= 0)) {
      say('tableStep', 'A step in K above zero, or nothing.')
      continue
    }
    if (lowC === undefined || highC === undefined || points.includes(undefined)) continue
    const id = thermometer?.id ?? freeThermometer(item, customerName, known)
    if (!thermometer) thermometers.push(newThermometer(id, item, lowC, highC, customerName))
    items.push(
      Item.parse({
        ...item.kept,
        id: item.id,
        order: draft.id,
        customer,
        thermometer: id,
        condition: item.condition.trim(),
        occasion: item.occasion,
        asked: { lowC, highC, points },
        wish: wishOf(item, language, tableStep),
      }),
    )
  }
  const doubled = items.find((a, i) => items.findIndex((b) => b.thermometer === a.thermometer) !== i)
  if (doubled) problems[`${doubled.id}/serial`] = 'This thermometer is in the order already.'
  if (Object.keys(problems).length > 0) return { read: undefined, problems }
  const lines = (text: string) =>
    text
      .split('\n')
      .map((line) => line.trim())
      .filter(Boolean)
  return {
    problems,
    read: {
      order: Order.parse({
        id: draft.id,
        number: draft.number.trim(),
        customer,
        received: draft.received,
        ...(draft.wantedBy !== '' && { wantedBy: draft.wantedBy }),
        remarks: lines(draft.remarks),
      }),
      items,
      thermometers,
      customer:
        typed &&
        Customer.parse({
          ...customers.find(({ id }) => id === customer),
          id: customer,
          name: customerName,
          address: lines(typed.address),
          contact: typed.contact.trim(),
          email,
          language,
          decimalSign: typed.decimalSign || undefined,
        }),
    },
  }
}

const isDay = (text: string) => /^\d{4}-\d{2}-\d{2}$/.test(text)

/** Whose thermometers an order has: the name of its customer. */
export const ownerOf = (
  { customer, newCustomer }: Pick<OrderDraft, 'customer' | 'newCustomer'>,
  customers: readonly Pick<Customer, 'id' | 'name'>[],
): string => newCustomer?.name.trim() ?? customers.find(({ id }) => id === customer)?.name ?? ''

/**
 * The thermometer of a customer, or of the laboratory itself, that has a serial number. Makers number from 1 each: the same
 * number at another customer is another thermometer, of which this one learns nothing.
 */
export const bySerial = (
  known: readonly Thermometer[],
  serial: string,
  owner: string,
): Thermometer | undefined =>
  known.find((thermometer) => isSameThermometer(thermometer, serial.trim(), owner))

function freeThermometer(item: ItemDraft, owner: string, known: readonly Thermometer[]): string {
  const number = item.serial.trim() || item.name.trim() || item.id
  const id = idOf('t', number)
  return known.some((t) => t.id === id) ? idOf('t', `${number} ${owner}`) : id
}

/** What is asked of an item's certificate; its languages are left to the customer's unless there are two. */
const wishOf = (
  { tolerance, second, budget, kept }: ItemDraft,
  language: Language,
  tableStepK: number | null,
): ItemWish => ({
  ...(second !== '' && second !== language && { languages: [language, second] }),
  ...(tolerance !== '' && {
    conformity: { class: tolerance, rule: kept.wish?.conformity?.rule ?? 'guarded' },
  }),
  ...(tableStepK !== null && { tableStepK }),
  ...(budget === true && { budget: true }),
})

/** An id that says what it is of, whatever alphabet the name is written in. */
function idOf(stem: string, name: string): string {
  const plain = name
    .normalize('NFKD')
    .toLowerCase()
    .replace(/[^\p{L}\p{N}]+/gu, '-')
    .replace(/^-|-$/g, '')
    .slice(0, 60)
  return `${stem}-${plain || 'x'}`
}

/** How far beyond what is asked for a thermometer that nobody knows is taken to bear, K. Common practice, no source. */
const MARGIN_K = 5

const NOMINAL: Partial<Record<Thermometer['kind'], Partial<Thermometer>>> = {
  prt: { nominalOhm: 100, currentMa: 1, fit: 'callendar-van-dusen' },
  sprt: { nominalOhm: 25.5, currentMa: 1, fit: 'its90' },
  thermistor: { nominalOhm: 10_000, currentMa: 0.01, fit: 'steinhart-hart' },
  thermocouple: { fit: 'thermocouple' },
}

function newThermometer(
  id: string,
  item: ItemDraft,
  lowC: number,
  highC: number,
  owner: string,
): Thermometer {
  return Thermometer.parse({
    id,
    name: item.name.trim() || (ITEM_KINDS.find((k) => k.id === item.kind)?.name ?? 'Thermometer'),
    kind: item.kind,
    serial: item.serial.trim(),
    owner,
    lowC: lowC - MARGIN_K,
    highC: highC + MARGIN_K,
    ...NOMINAL[item.kind],
    ...(item.construction !== '' && { construction: item.construction }),
  })
}
