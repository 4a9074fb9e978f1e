import { first } from '../../../app/base/lists.ts'
import { counted } from '../../../app/base/plural.ts'
import type { StationTraffic } from '../../station/traffic-log.ts'
import { isOnlooker, nameOf, os } from './base.ts'
import { alarmsForOnlookers, rulesForOnlookers } from './onlookers.ts'

/** Lines that may wait for a slow window; beyond that the oldest are dropped and the window is told. */
const MOST_WAITING = 2000

export const wireRoutes = {
  traffic: os.wire.traffic.handler(async function* ({ context, input, signal }) {
    const { traffic } = context.services.station.links
    const waiting: StationTraffic[] = traffic.recent(input.backlog, input.instrument)
    let dropped = 0
    let wake = () => {}
    const listening = traffic.onLine.on((line) => {
      if (input.instrument !== undefined && line.instrument !== input.instrument) return
      waiting.push(line)
      if (waiting.length > MOST_WAITING) {
        waiting.shift()
        dropped += 1
      }
      wake()
    })
    signal?.addEventListener('abort', () => wake())
    try {
      while (!signal?.aborted) {
        if (dropped > 0) {
          const { at, instrument } = first(waiting)
          yield {
            instrument,
            utcUs: at.utcUs,
            direction: 'note' as const,
            text: `${counted(dropped, 'line')} passed faster than they could be shown`,
          }
          dropped = 0
        }
        const line = waiting.shift()
        if (line)
          yield {
            instrument: line.instrument,
            utcUs: line.at.utcUs,
            direction: line.direction,
            text: line.text,
          }
        else {
          await new Promise<void>((resolve) => {
            wake = resolve
          })
        }
      }
    } finally {
      listening.dispose()
    }
  }),
  converse: os.wire.converse.handler(async ({ context, input }) => ({
    reply:
      (await context.services.station.converse(
        input.instrument,
        input.line,
        nameOf(context),
        input.override,
      )) ?? null,
  })),
}

export const alarmRoutes = {
  list: os.alarms.list.handler(({ context, input: { from, most } }) => {
    const { station } = context.services
    const all = station.alarms.list(Number.POSITIVE_INFINITY)
    const rows = all.slice(from, from + most)
    return { total: all.length, rows: isOnlooker(context) ? alarmsForOnlookers(rows, station.bench) : rows }
  }),
  acknowledge: os.alarms.acknowledge.handler(({ context, input }) => {
    const who = nameOf(context)
    context.services.station.acknowledge(input.id, who)
    return { words: `Seen by ${who}.` }
  }),
  rules: os.alarms.rules.handler(({ context }) => {
    const rules = context.services.store.alarmRules()
    return isOnlooker(context) ? rulesForOnlookers(rules) : rules
  }),
  saveRules: os.alarms.saveRules.handler(({ context, input }) => {
    context.services.store.saveAlarmRules(input.rules, nameOf(context))
    context.services.station.touched('settings')
    return { words: 'The alarm rules are stored and hold from now on.' }
  }),
}
