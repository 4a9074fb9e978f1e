import pino from 'pino'
import { expect, it, onTestFinished } from 'vitest'
import { AlarmRules } from '../../app/contract/settings.ts'
import { asTold, sentenceOf } from '../../app/messages/said.ts'
import type { AlarmCause } from '../../main/station/alarm-desk.ts'
import { USUAL_RULES } from '../../main/station/alarm-watch.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'
import type { EventWords } from '../../main/station/recorder.ts'
import { StationAlarms, type StationAlarmsParts } from '../../main/station/station-alarms.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { temporaryFolder } from '../store/example.ts'

function station() {
  const folder = temporaryFolder()
  const clock = new VirtualClock({ startUtcUs: 0 })
  const store = openStationStore(folder, { clock })
  const told: EventWords[] = []
  const state = { running: true }
  const run = { info: { name: 'Night' }, recorder: { tell: (event: EventWords) => told.push(event) } }
  const alarms = new StationAlarms({
    ...{ folder, clock, store, log: pino({ level: 'silent' }) },
    session: () => (state.running ? run : undefined) as ReturnType<StationAlarmsParts['session']>,
    ...{ links: () => [], freeBytes: () => 1e12, benchName: () => 'Bench' },
  })
  onTestFinished(() => {
    alarms.dispose()
    store.close()
    clock.stop()
  })
  return { alarms, store, told, state }
}

const cause = (key: string): AlarmCause => ({
  ...{ key, kind: 'link', severity: 'warning', subject: 'bridge' },
  said: asTold('The bridge is away.'),
})

it('writes into the session what was raised and who has seen it, and not what ended or stands in the list alone', () => {
  const { alarms, told, state } = station()
  alarms.desk.raise(cause('away'))
  alarms.desk.end('away')
  alarms.desk.acknowledge(alarms.desk.list()[0]!.id, 'M. Ode')
  const data = { key: 'away', kind: 'link', severity: 'warning' }
  expect(told).toMatchObject([
    { kind: 'alarm', who: 'station', subject: 'bridge', data },
    { kind: 'alarm-acknowledged', who: 'M. Ode', subject: 'bridge', data },
  ])
  expect(told.map(({ said }) => sentenceOf(said))).toEqual([
    'The bridge is away.',
    expect.stringMatching(/M\. Ode.*The bridge is away\./),
  ])
  alarms.desk.raise({ ...cause('quiet'), quiet: true })
  state.running = false
  alarms.desk.raise(cause('without a session'))
  expect(told).toHaveLength(2)
  alarms.dispose()
  state.running = true
  alarms.desk.raise(cause('after the end'))
  expect(told).toHaveLength(2)
})

it('keeps to the usual rules until others are saved, also where these are none', () => {
  const { alarms, store } = station()
  expect(alarms.rules.rules).toEqual(USUAL_RULES)
  store.records.save('alarm-rules', 'station', AlarmRules.parse({ rules: [] }), { who: 'test', why: '' })
  expect(alarms.rules.rules).toEqual(USUAL_RULES)
  alarms.reread()
  expect(alarms.rules.rules).toEqual([])
})
