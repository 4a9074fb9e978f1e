import { z } from 'zod'
import { ALARM_KINDS } from '../../app/contract/alarm-kinds.ts'
import type { AlarmView } from '../../app/contract/views.ts'
import { asTold } from '../../app/messages/said.ts'
import type { SessionEvent } from '../../app/records/session.ts'
import type { AlarmCause } from './alarm-desk.ts'

/** What an alarm leaves in the events of a session, beside its words. */
export const AlarmTrace = z.looseObject({
  key: z.string(),
  kind: z.enum(ALARM_KINDS),
  severity: z.enum(['notice', 'warning', 'alarm']),
})
export type AlarmTrace = z.output<typeof AlarmTrace>

/**
 * Alarms that a session wrote down and that nobody has seen since, in the order of their coming: what belongs back on
 * the list when the station takes the session up again. One that came several times counts up.
 */
export function unseenAlarms(
  events: readonly SessionEvent[],
): { readonly view: AlarmView; readonly cause: AlarmCause }[] {
  const unseen = new Map<string, { view: AlarmView; cause: AlarmCause }>()
  for (const { kind, subject, words, utcUs, data } of events) {
    if (kind !== 'alarm' && kind !== 'alarm-acknowledged') continue
    const trace = AlarmTrace.safeParse(data)
    if (!trace.success) continue
    const { key, severity } = trace.data
    if (kind === 'alarm-acknowledged') {
      unseen.delete(key)
      continue
    }
    const view = {
      id: key,
      utcUs,
      severity,
      subject,
      words,
      count: (unseen.get(key)?.view.count ?? 0) + 1,
      active: false,
      acknowledgedBy: null,
      acknowledgedUtcUs: null,
    }
    unseen.set(key, { view, cause: { key, kind: trace.data.kind, severity, subject, said: asTold(words) } })
  }
  return [...unseen.values()]
}
