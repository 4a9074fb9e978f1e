import { entryOf } from '../../../app/base/lists.ts'
import type { FillView, ItemView, OrderLine, OrderView } from '../../../app/contract/calls-orders.ts'
import { type Said, said } from '../../../app/messages/said.ts'
import { fillBath, ownSetpoints, type Waiting } from '../../../app/plan/fill-bath.ts'
import type { Bench } from '../../../app/records/bench.ts'
import { CertificateWish } from '../../../app/records/certificate.ts'
import type { Customer } from '../../../app/records/customer.ts'
import {
  ITEM_STATES,
  type Item,
  type ItemState,
  type Order,
  type SessionItem,
} from '../../../app/records/order.ts'
import type { Thermometer } from '../../../app/records/register.ts'
import { bathLimits } from '../../station/bath-limits.ts'
import { StationError } from '../../station/station-error.ts'
import { StoreError } from '../../store/errors.ts'
import type { Act } from '../../store/records/records.ts'
import type { StationStore } from '../../store/station-store.ts'

/** Most items of one order, and most that wait, which are looked at together. */
const MOST = 500

const refused = (why: Said, facts: Readonly<Record<string, unknown>> = {}) =>
  new StationError('refused', why, facts)

export interface OrderQuery {
  search: string
  sort: 'number' | 'wantedBy' | 'changed'
  from: number
  most: number
}

/** Customers, orders and their items: what a sheet shows of them, and what moves them on. */
export class OrderDesk {
  readonly #store: StationStore

  constructor(store: StationStore) {
    this.#store = store
  }

  list(query: OrderQuery): { total: number; rows: OrderLine[] } {
    const { records } = this.#store
    const sort = { number: 'name', wantedBy: 'due', changed: 'changed' } as const
    const { total, rows } = records.list({
      kinds: ['order'],
      search: query.search,
      sort: sort[query.sort],
      reverse: query.sort === 'changed',
      from: query.from,
      most: query.most,
    })
    return {
      total,
      rows: rows.map(({ id, name, due, facts }) => {
        const states: Partial<Record<ItemState, number>> = {}
        const items = this.#itemsOf(id)
        for (const { state } of items) states[state] = (states[state] ?? 0) + 1
        const order = records.one('order', id)
        return {
          id,
          number: name,
          customer: (order && records.one('customer', order.customer)?.name) ?? '',
          received: String(facts.received ?? ''),
          wantedBy: due,
          states,
          items: items.length,
        }
      }),
    }
  }

  get(id: string): OrderView {
    const { records } = this.#store
    const order = records.one('order', id)
    if (!order) throw new StoreError('not-found', said('no-such-order-id', { id }), { id })
    return {
      order,
      customer: records.one('customer', order.customer) ?? null,
      items: this.#itemsOf(id).map((item) => this.#viewOf(item)),
    }
  }

  customers(): Customer[] {
    return this.#store.records.all('customer').toSorted((a, b) => a.name.localeCompare(b.name))
  }

  saveCustomer(customer: Customer, act: Act): void {
    this.#store.records.save('customer', customer.id, customer, act)
  }

  /** A new order with everything in it that the register does not have yet, all or nothing. */
  take(
    made: {
      order: Order
      items: readonly Item[]
      thermometers: readonly Thermometer[]
      customer?: Customer | undefined
    },
    act: Act,
  ): void {
    const { order, items, thermometers, customer } = made
    this.#store.records.saveAll(
      [
        ...(customer ? [{ kind: 'customer' as const, value: customer }] : []),
        ...thermometers.map((value) => ({ kind: 'thermometer' as const, value })),
        { kind: 'order' as const, value: order },
        ...items.map((value) => ({ kind: 'item' as const, value })),
      ],
      act,
    )
  }

  /** The order with its items, all or nothing; items that are not named any more are taken away while nothing was measured of them. */
  save(order: Order, items: readonly Item[], thermometers: readonly Thermometer[], act: Act): void {
    const { records } = this.#store
    if (!records.one('customer', order.customer)) throw refused(said('order-without-customer', {}))
    const known = new Set(thermometers.map(({ id }) => id))
    for (const { thermometer } of items)
      if (!known.has(thermometer) && !records.one('thermometer', thermometer))
        throw refused(said('order-thermometer-unknown', { thermometer }))
    const gone = this.#itemsOf(order.id).filter(({ id }) => !items.some((item) => item.id === id))
    const measured = gone.find(({ session }) => session !== undefined)
    if (measured)
      throw refused(said('item-measured-stays', {}), {
        item: measured.id,
      })
    records.saveAll(
      [
        // A thermometer that returns keeps its record: what is typed at the counter does not write over it.
        ...thermometers
          .filter(({ id }) => !records.one('thermometer', id))
          .map((value) => ({ kind: 'thermometer' as const, value })),
        { kind: 'order' as const, value: order },
        ...items.map((value) => ({ kind: 'item' as const, value })),
      ],
      act,
    )
    for (const { id } of gone) records.remove('item', id, act)
  }

  move(id: string, state: ItemState, act: Act, more: Partial<Item> = {}): Item {
    const item = this.#store.records.one('item', id)
    if (!item) throw new StoreError('not-found', said('no-such-item', { id }), { id })
    const next = { ...item, ...more, state }
    this.#store.records.save('item', id, next, act)
    return next
  }

  /** Which waiting items fit on this bench tonight. */
  fill(bench: Bench | undefined, only?: readonly string[]): FillView {
    const all = this.#waiting()
    const waiting = all.map(({ item, thermometer }) => {
      const order = this.#store.records.one('order', item.order)
      return {
        item: item.id,
        name: thermometer.name,
        serial: thermometer.serial,
        order: order?.number ?? '',
        customer: this.#store.records.one('customer', item.customer)?.name ?? '',
      }
    })
    const onBench = bench ? this.onBench(bench).map(({ id }) => id) : []
    const nothing = { placed: [], setpoints: [], left: [], onBench, waiting }
    if (!bench)
      return { ...nothing, words: 'There is no bench yet. Set one up on Bench, then fill its bath.' }
    const channels = bench.channels.filter(({ role }) => role === 'under-test')
    if (channels.length === 0)
      return {
        ...nothing,
        words: 'The bench has no channel for a thermometer under test. Add one on Bench, then fill its bath.',
      }
    const { lowC, highC } = this.#limits(bench)
    const chosen = only ? all.filter(({ item }) => only.includes(item.id)) : all
    const fill = fillBath(chosen, { lowC, highC, channels })
    const itemOf = new Map(all.map(({ item }) => [item.id, item]))
    return {
      placed: fill.placed.map(({ item, channel }) => ({
        item,
        channel,
        own: ownSetpoints(entryOf(itemOf, item), fill.setpoints),
      })),
      setpoints: [...fill.setpoints],
      left: [...fill.left],
      onBench,
      waiting,
      words: null,
    }
  }

  /** The bench with the placed items' thermometers on their channels; other channels under test are at rest. */
  placedOn(bench: Bench, placed: readonly { item: string; channel: string }[]): Bench {
    const byChannel = new Map(
      placed.map(({ item, channel }) => {
        const found = this.#store.records.one('item', item)
        const thermometer = found && this.#store.records.one('thermometer', found.thermometer)
        if (!thermometer) throw new StoreError('not-found', said('no-such-item', { id: item }), { item })
        return [channel, thermometer]
      }),
    )
    return {
      ...bench,
      channels: bench.channels.map((channel) => {
        if (channel.role !== 'under-test') return channel
        const thermometer = byChannel.get(channel.id)
        if (!thermometer) return { ...channel, enabled: false }
        return {
          ...channel,
          name: thermometer.serial ? `${thermometer.name}, ${thermometer.serial}` : thermometer.name,
          thermometer: thermometer.id,
          currentMa: thermometer.currentMa,
          enabled: true,
        }
      }),
    }
  }

  /** What a session keeps of the items it measures. */
  sessionItems(ids: readonly string[]): SessionItem[] {
    const { records } = this.#store
    return ids.map((id) => {
      const item = records.one('item', id)
      const order = item && records.one('order', item.order)
      const customer = item && records.one('customer', item.customer)
      if (!item || !order || !customer)
        throw new StoreError('not-found', said('no-such-item', { id }), { id })
      return {
        item: id,
        thermometer: item.thermometer,
        order: order.number,
        customer: { name: customer.name, address: customer.address },
        received: order.received,
        condition: [item.condition, ...order.remarks].filter((line) => line.trim() !== ''),
        occasion: item.occasion,
        asked: item.asked,
        wish: CertificateWish.parse({
          languages: [customer.language],
          ...(customer.decimalSign && { decimalSign: customer.decimalSign }),
          ...item.wish,
        }),
      }
    })
  }

  /** Items that were put on the bench, and whose thermometers are on its channels under test. */
  onBench(bench: Bench): Item[] {
    const there = new Set(
      bench.channels
        .filter(({ role, enabled }) => role === 'under-test' && enabled)
        .map(({ thermometer }) => thermometer),
    )
    return this.#waiting()
      .map(({ item }) => item)
      .filter(({ thermometer, state }) => state === 'on-bench' && there.has(thermometer))
  }

  /** Moves every item of a session on to a state, never back; only these thermometers where they are named. */
  moveOfSession(session: string, state: ItemState, act: Act, only?: readonly string[]): number {
    const items = this.#linked('session', session).filter(
      (item) =>
        ITEM_STATES.indexOf(item.state) < ITEM_STATES.indexOf(state) &&
        (only === undefined || only.includes(item.thermometer)),
    )
    for (const { id } of items) this.move(id, state, act)
    return items.length
  }

  #limits(bench: Bench): { lowC: number; highC: number } {
    if (!bench.bath) return { lowC: -273.15, highC: Number.MAX_SAFE_INTEGER }
    const fluid =
      bench.bath.fluid === undefined ? undefined : this.#store.records.one('fluid', bench.bath.fluid)
    return bathLimits(bench.bath, fluid)
  }

  #waiting(): Waiting[] {
    const { rows } = this.#store.records.list({ kinds: ['item'], sort: 'id', most: MOST })
    return rows
      .filter(({ type }) => type === 'received' || type === 'on-bench')
      .flatMap(({ id }) => {
        const item = this.#store.records.one('item', id)
        const thermometer = item && this.#store.records.one('thermometer', item.thermometer)
        return item && thermometer ? [{ item, thermometer }] : []
      })
  }

  #linked(role: string, id: string): Item[] {
    const { rows } = this.#store.records.list({ kinds: ['item'], link: { role, id }, sort: 'id', most: MOST })
    return this.#store.records.some(
      'item',
      rows.map((row) => row.id),
    )
  }

  #itemsOf(order: string): Item[] {
    return this.#linked('order', order)
  }

  #viewOf(item: Item): ItemView {
    const steps: ItemView['steps'] = []
    for (const { value, who, utcUs } of this.#store.records.versions('item', item.id))
      if (value && value.state !== steps.at(-1)?.state) steps.push({ state: value.state, who, utcUs })
    return { item, thermometer: this.#store.records.one('thermometer', item.thermometer) ?? null, steps }
  }
}
