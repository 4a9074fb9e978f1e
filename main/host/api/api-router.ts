import { utcMillisecond } from '../../../app/base/times.ts'
import { API_PREFIX } from '../../../app/contract/api/index.ts'
import type { OrderOfApi } from '../../../app/contract/api/orders.ts'
import type { OrderView } from '../../../app/contract/calls-orders.ts'
import { said } from '../../../app/messages/said.ts'
import { certificateFile } from '../issue-certificates.ts'
import type { Services } from '../services.ts'
import { busy, notFound, os, programName, refused } from './api-base.ts'
import { takeOrder } from './take-order.ts'

function orderOf({ order, customer, items }: OrderView): OrderOfApi {
  return {
    number: order.number,
    customer: customer?.name ?? '',
    received: order.received,
    wantedBy: order.wantedBy ?? null,
    items: items.map(({ item, thermometer, steps }) => ({
      id: item.id,
      thermometer: item.thermometer,
      name: thermometer?.name ?? '',
      serial: thermometer?.serial ?? '',
      state: item.state,
      steps: steps.map(({ state, utcUs }) => ({ state, utc: utcMillisecond(utcUs) })),
      session: item.session ?? null,
    })),
  }
}

function orderNumbered({ store, orders }: Services, number: string): OrderView {
  const found = store.records.all('order').find((order) => order.number === number)
  return found ? orders.get(found.id) : notFound(said('no-such-order-id', { id: number }))
}

/** Certificates of a session that are signed; none while it is a draft. */
const signedOf = async ({ reports }: Services, session: string, signal?: AbortSignal) =>
  (await reports.ask(signal).certificates(session)).filter(({ number, signed }) => number !== null && signed)

export const apiRouter = os.router({
  state: os.state.handler(({ context: { services } }) => {
    const { utcUs, bench, runner, alarms } = services.station.state()
    const { phase, words, setpointC, bathC, expectedEndUtcUs } = runner
    const session = services.station.session?.info
    return {
      utc: utcMillisecond(utcUs),
      bench: bench?.name ?? null,
      session: session ? { id: session.id, name: session.name } : null,
      ...{ phase, words, setpointC, bathC },
      expectedEnd: expectedEndUtcUs === null ? null : utcMillisecond(expectedEndUtcUs),
      alarms: alarms
        .filter(({ active }) => active)
        .map((alarm) => ({
          severity: alarm.severity,
          words: alarm.words,
          since: utcMillisecond(alarm.utcUs),
        })),
    }
  }),

  orders: {
    list: os.orders.list.handler(({ context: { services }, input }) => {
      const { total, rows } = services.orders.list({ ...input, sort: 'changed' })
      return {
        total,
        rows: rows.map(({ number, customer, received, wantedBy, states }) => ({
          ...{ number, customer, received, wantedBy, states },
        })),
      }
    }),
    send: os.orders.send.handler(({ context: { services, token }, input }) => {
      const act = { who: programName(token), why: 'sent in over the interface for programs' }
      const { id } = takeOrder(services, input, act, services.clock.now().utcUs)
      services.station.touched('orders')
      services.station.touched('register')
      return orderOf(services.orders.get(id))
    }),
    get: os.orders.get.handler(({ context: { services }, input }) =>
      orderOf(orderNumbered(services, input.number)),
    ),
    certificates: os.orders.certificates.handler(async ({ context: { services }, input, signal }) => {
      const { items } = orderNumbered(services, input.number)
      const all = await Promise.all(
        items.map(async ({ item }) => {
          const { session } = item
          if (session === undefined) return []
          const rows = await signedOf(services, session, signal)
          return rows
            .filter(({ thermometer }) => thermometer === item.thermometer)
            .map((row) => {
              const file = (format: 'pdf' | 'xml') =>
                `${API_PREFIX}/certificates/${encodeURIComponent(session)}/${encodeURIComponent(row.thermometer)}/${format}`
              return {
                item: item.id,
                session,
                thermometer: row.thermometer,
                serial: row.serial,
                number: row.number!,
                version: row.version,
                pdf: file('pdf'),
                xml: row.digital ? file('xml') : null,
              }
            })
        }),
      )
      return all.flat()
    }),
  },

  certificate: os.certificate.handler(async ({ context: { services, token }, input, signal }) => {
    const { session, thermometer, format } = input
    const end = await services.heavy.enter(token, 'programs', signal, busy)
    try {
      const row = (await signedOf(services, session, signal)).find((one) => one.thermometer === thermometer)
      if (!row) notFound(said('no-signed-certificate', {}))
      const { paper } = services.settings()
      const data = await certificateFile(services, { session, thermometer, paper }, format, signal)
      if (data === null) refused(said('no-result-for-dcc', {}))
      const type = format === 'pdf' ? 'application/pdf' : 'application/xml'
      return new File([data], `${row.file}.${format}`, { type })
    } finally {
      end()
    }
  }),

  sessions: {
    list: os.sessions.list.handler(async ({ context: { services }, input, signal }) => {
      const asked = { ...input, sort: 'started', reverse: false } as const
      const { total, rows } = await services.reader.lists(signal).sessions(services.folder, asked)
      return {
        total,
        rows: rows.map(({ info, readings, points, thermometers, signedOffBy }) => ({
          ...{ id: info.id, name: info.name, operator: info.operator, ending: info.ending },
          started: utcMillisecond(info.startedUtcUs),
          ended: info.endedUtcUs === null ? null : utcMillisecond(info.endedUtcUs),
          ...{ readings, points, thermometers, signedBy: signedOffBy },
        })),
      }
    }),
    points: os.sessions.points.handler(({ context: { services }, input }) => [
      ...services.sessions.read(input.session).points(),
    ]),
    readings: os.sessions.readings.handler(({ context: { services }, input }) => {
      const rows = services.sessions.read(input.session).since(input.after, input.most)
      return {
        last: rows.at(-1)?.seq ?? input.after,
        rows: rows.map(({ seq, channel, raw, value, unit, marks, utcUs }) => ({
          ...{ seq, channel, raw, value, unit, marks: [...marks], utc: utcMillisecond(utcUs) },
        })),
      }
    }),
  },
})
