import { packColumns } from '../../../app/contract/columns.ts'
import { said } from '../../../app/messages/said.ts'
import { scaleOf as channelScale, type Quantity, type Scale } from '../../store/quantity.ts'
import type { Services } from '../services.ts'
import { blob, isOnlooker, notFound, os } from './base.ts'
import { eventsForOnlookers } from './onlookers.ts'

/** From a raw value to the quantity wanted, through the chain of the session's own register. */
function scaleOf(services: Services, session: string, channel: string, quantity: Quantity): Scale {
  const chain = quantity === 'raw' ? undefined : services.sessions.chains(session).get(channel)
  if (quantity !== 'raw' && !chain) notFound(said('no-such-channel', { channel }))
  return channelScale(services.sessions.read(session), chain, channel, quantity)
}

export const historyRoutes = {
  overview: os.history.overview.handler(async ({ context, input, signal }) => {
    const { reader, store } = context.services
    const { t, min, max, mean, n } = await reader
      .pictures(signal)
      .overview(store.sessionPath(input.session), input)
    const scale = scaleOf(context.services, input.session, input.channel, input.quantity)
    for (let i = 0; i < t.length; i++) {
      const at = t[i]! * 1e6
      const low = scale.of(min[i]!, at)
      const high = scale.of(max[i]!, at)
      // A chain may fall with its input (thermistors), so low and high may change places.
      min[i] = Math.min(low, high)
      max[i] = Math.max(low, high)
      mean[i] = scale.of(mean[i]!, at)
    }
    return blob(packColumns({ t, min, max, mean, n }, { unit: scale.unit }))
  }),

  readings: os.history.readings.handler(async ({ context, input, signal }) => {
    const { reader, store } = context.services
    const found = await reader.pictures(signal).readings(store.sessionPath(input.session), input)
    const scale = scaleOf(context.services, input.session, input.channel, input.quantity)
    return blob(
      packColumns(
        {
          seq: Uint32Array.from(found.seq),
          utcS: found.utcUs.map((us) => us / 1e6),
          value: found.value.map((raw, i) => scale.of(raw, found.utcUs[i]!)),
          marks: found.marks,
          raw: found.raw.map((raw) => raw.replaceAll('\n', ' ')),
        },
        { unit: scale.unit },
      ),
    )
  }),

  statistics: os.history.statistics.handler(async ({ context, input, signal }) => {
    const { reader, sessions, store } = context.services
    if (input.quantity !== 'raw' && !sessions.chains(input.session).has(input.channel))
      notFound(said('no-such-channel', { channel: input.channel }))
    return reader.pictures(signal).statistics(store.sessionPath(input.session), input)
  }),

  events: os.history.events.handler(({ context, input: { session, kinds, from, most } }) => {
    const file = context.services.sessions.read(session)
    const all = file.events(kinds ? { kinds } : {})
    const rows = all.slice(from, from + most)
    return {
      total: all.length,
      rows: isOnlooker(context) ? eventsForOnlookers(rows, file.setup.bench) : rows,
    }
  }),
}
