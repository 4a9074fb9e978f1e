import { z } from 'zod'
import { utcDay } from '../../app/base/times.ts'
import { lifeOf } from '../../app/checks/life.ts'
import type { BathNight, LIFE_KINDS, LifeEvent, LifeView } from '../../app/contract/life.ts'
import type { Repair } from '../../app/records/repair.ts'
import type { BathOf } from '../study/bath-nights.ts'
import type { Services } from './services.ts'

/** Sessions and saves looked through for one entry, the newest first. */
const MOST = 1000
/** Session files opened for the life of a bath, the newest first. */
const MOST_NIGHTS = 200

const event = (
  date: string,
  kind: LifeEvent['kind'],
  words: string,
  session: string | undefined = undefined,
  who: string | null = null,
): LifeEvent => ({ date, kind, words, who, session: session ?? null })

const part = (relative: number) => `${(relative * 1e6).toPrecision(2)} ppm`

/** What signers state of an adjustment or a repair. */
const Adjusted = z.looseObject({ statements: z.looseObject({ adjustment: z.string() }) })

/** Each time it came as an item of an order: as found or as left, and what its signer stated of an adjustment. */
function asItem({ store, sessions }: Services, id: string): LifeEvent[] {
  const { rows } = store.records.list({ kinds: ['item'], link: { role: 'thermometer', id }, most: MOST })
  const items = store.records.some(
    'item',
    rows.map((row) => row.id),
  )
  return items.flatMap((item) => {
    const order = store.records.one('order', item.order)
    const customer = store.records.one('customer', item.customer)
    if (!order) return []
    const found = item.occasion === 'as-found' ? 'As found' : 'As left'
    const from = customer ? `, ${customer.name}` : ''
    const condition = item.condition === '' ? '' : `: ${item.condition}`
    const received = event(
      order.received,
      'item',
      `${found}, order ${order.number}${from}${condition}`,
      item.session,
    )
    const signed =
      item.session === undefined ? [] : sessions.read(item.session).events({ kinds: ['sign-off'] })
    return [
      received,
      ...signed.flatMap(({ data, utcUs, who }) => {
        const read = Adjusted.safeParse(data)
        return read.success
          ? [event(utcDay(utcUs), 'repair', read.data.statements.adjustment, item.session, who)]
          : []
      }),
    ]
  })
}

const asRepairs = (repairs: readonly Repair[] = []): LifeEvent[] =>
  repairs.map(({ date, what, who }) => event(date, 'repair', what, undefined, who))

function recorded(
  services: Services,
  kind: (typeof LIFE_KINDS)[number],
  id: string,
): LifeEvent[] | undefined {
  const { store } = services
  switch (kind) {
    case 'thermometer': {
      const own = store.records.one('thermometer', id)
      if (!own) return undefined
      return [
        ...own.calibrations.map((c) =>
          event(
            c.date,
            'calibration',
            `Calibrated: ${[c.certificate, c.laboratory].filter(Boolean).join(', ')}`,
          ),
        ),
        ...own.wtpHistory.map((w) => event(w.date, 'wtp', `R(0.01 °C) ${w.ohm} Ω, u ${w.uOhm} Ω`, w.session)),
        ...store
          .sessions('', MOST)
          .filter((row) => row.thermometers.includes(id))
          .map(({ info }) =>
            event(utcDay(info.startedUtcUs), 'session', info.name, info.id, info.operator || null),
          ),
        ...asItem(services, id),
        ...asRepairs(own.repairs),
      ]
    }
    case 'resistor': {
      const own = store.records.one('resistor', id)
      return (
        own && [
          ...own.calibrations.map((c) =>
            event(c.date, 'calibration', `${c.ohm} Ω, U ${part(c.expandedRelative)}: ${c.certificate}`),
          ),
          ...(own.comparisons ?? []).map((c) =>
            event(c.date, 'comparison', `${c.ohm} Ω against ${c.against}`, c.session),
          ),
          ...asRepairs(own.repairs),
        ]
      )
    }
    case 'instrument': {
      const own = store.records.one('instrument', id)
      return (
        own && [
          ...(own.calibrated ? [event(own.calibrated, 'calibration', own.certificate ?? 'Calibrated')] : []),
          ...(own.checks ?? []).map((c) =>
            event(
              c.date,
              'check',
              `Linearity ${(c.linearityRatio * 1e9).toPrecision(3)} parts in 10⁹, ${c.agrees ? 'within U' : 'beyond U'}`,
              c.session,
            ),
          ),
          ...asRepairs(own.repairs),
        ]
      )
    }
    case 'cell': {
      const own = store.records.one('cell', id)
      return (
        own && [
          ...(own.calibrated ? [event(own.calibrated, 'calibration', own.certificate ?? 'Calibrated')] : []),
          ...(own.plateaus ?? []).map((p) =>
            event(p.date, 'plateau', `R ${p.ohm} Ω${p.w ? `, W ${p.w}` : ''}`, p.session),
          ),
          ...(own.comparisons ?? []).map((c) =>
            event(c.date, 'comparison', `${c.differenceMk.toFixed(3)} mK from ${c.against}`),
          ),
          ...asRepairs(own.repairs),
        ]
      )
    }
    case 'bath': {
      const own = store.records.one('bath', id)
      return (
        own && [
          ...(own.surveys ?? []).map((s) =>
            event(
              s.date,
              'survey',
              `Uniformity ${s.points.map((p) => `${p.uMk} mK at ${p.celsius} °C`).join(', ')} (u), ${s.positions.length} places`,
              undefined,
              s.who,
            ),
          ),
          ...asRepairs(own.repairs),
        ]
      )
    }
  }
}

/** The newest sessions in a bath, read from their files in a thread. */
export function nightsOfBath(
  { store, reports }: Services,
  id: string,
  signal?: AbortSignal,
): Promise<BathNight[]> {
  const benches = store
    .benches()
    .flatMap(({ id: bench, bath }) => (bath?.register === id ? [{ id: bench, bathName: bath.name }] : []))
  const paths = store
    .sessionIds('ended')
    .filter((session) => !store.isAway(session))
    .slice(0, MOST_NIGHTS)
    .map((session) => store.sessionPath(session))
  return reports.ask(signal).bathNights(paths, { id, benches } satisfies BathOf)
}

/**
 * What an entry of the register has done over the years, the newest first; undefined where there is no such entry. `nights`: of a
 * bath, its sessions.
 */
export function lifeView(
  services: Services,
  kind: (typeof LIFE_KINDS)[number],
  id: string,
  nights: readonly BathNight[] = [],
): LifeView | undefined {
  const own = recorded(services, kind, id)
  if (!own) return undefined
  const saves = services.store
    .ledger({ subject: id, most: MOST })
    .map(({ utcUs, what, why, who }) =>
      event(utcDay(utcUs), 'change', `${what}${why ? `: ${why}` : ''}`, undefined, who),
    )
  const sessions = nights.map(({ session, name, who, startedUtcUs }) =>
    event(utcDay(startedUtcUs), 'session', name, session, who || null),
  )
  const events = [...own, ...sessions, ...saves].toSorted((a, b) => b.date.localeCompare(a.date))
  const thermometer = kind === 'thermometer' ? services.store.records.one('thermometer', id) : undefined
  const { curves, forecast, advice } = thermometer
    ? lifeOf(thermometer)
    : { curves: [], forecast: [], advice: null }
  return {
    events,
    curves: curves.map((c) => ({ ...c, points: c.points.map((p) => ({ ...p })) })),
    forecast: forecast.map((f) => ({ ...f })),
    nights: [...nights],
    advice: advice && { ...advice },
  }
}
