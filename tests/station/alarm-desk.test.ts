import { expect, it, onTestFinished } from 'vitest'
import type { AlarmView } from '../../app/contract/views.ts'
import { asTold, said } from '../../app/messages/said.ts'
import { type AlarmCause, AlarmDesk } from '../../main/station/alarm-desk.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'

function desk() {
  const clock = new VirtualClock({ startUtcUs: 0 })
  onTestFinished(() => clock.stop())
  const alarms = new AlarmDesk(clock)
  const told: string[] = []
  alarms.onDidChange.on(({ what, alarm, cause }) => told.push(`${what} ${cause.key} ${alarm.count}`))
  const since = () => told.splice(0)
  return { clock, alarms, since }
}

const cause = (key: string, words = `${key}.`, more: Partial<AlarmCause> = {}): AlarmCause => ({
  ...{ key, kind: 'link', severity: 'warning', subject: null, said: asTold(words) },
  ...more,
})

it('counts a cause that comes again, and tells of it again after an hour', async () => {
  const { clock, alarms, since } = desk()
  alarms.raise(cause('plug'))
  alarms.raise(cause('plug'))
  expect(since()).toEqual(['raised plug 1'])
  alarms.end('plug')
  alarms.end('plug')
  expect(since()).toEqual(['ended plug 1'])
  await clock.sleep(3_599_000)
  alarms.raise(cause('plug'))
  alarms.end('plug')
  // It is an alarm again, and nobody is told a second time within the hour.
  expect(since()).toEqual(['ended plug 2'])
  await clock.sleep(1_000)
  alarms.raise(cause('plug'))
  expect(since()).toEqual(['raised plug 3'])
  alarms.end('plug')
  await clock.sleep(3_599_000)
  alarms.raise(cause('plug'))
  expect(since()).toEqual(['ended plug 3'])
  expect(alarms.list()).toMatchObject([{ id: 'alarm-1', count: 4, active: true, utcUs: 0 }])
})

it('is a new alarm where the one before had ended and somebody had seen it', () => {
  const { alarms, since } = desk()
  alarms.raise(cause('plug'))
  const [first] = alarms.list()
  alarms.acknowledge(first!.id, 'M. Ode')
  alarms.acknowledge(first!.id, 'A. Person')
  alarms.raise(cause('plug'))
  expect(alarms.list()).toMatchObject([{ acknowledgedBy: 'M. Ode', acknowledgedUtcUs: 0, active: true }])
  alarms.end('plug')
  alarms.raise(cause('plug', 'Away again.'))
  expect(since()).toEqual(['raised plug 1', 'acknowledged plug 1', 'ended plug 1', 'raised plug 1'])
  expect(alarms.list().map(({ id, words, active }) => [id, words, active])).toEqual([
    ['alarm-2', 'Away again.', true],
    ['alarm-1', 'plug.', false],
  ])
  expect(() => alarms.acknowledge('alarm-9', 'M. Ode')).toThrow(
    expect.objectContaining({ code: 'no-such-alarm' }) as unknown as Error,
  )
})

it('lets a notice that counts say its new number at once, and an alarm keep the words it was told with', () => {
  const { alarms } = desk()
  const quiet = { quiet: true }
  for (const words of ['1 is due.', '1 is due.', '2 are due.']) alarms.raise(cause('due', words, quiet))
  for (const words of ['30.1 degC.', '30.2 degC.']) alarms.raise(cause('hot', words))
  expect(alarms.list().map(({ words, count }) => [words, count])).toEqual([
    ['30.1 degC.', 1],
    ['2 are due.', 2],
  ])
})

it('raises nothing that no rule asks for, and as grave as the rule says', () => {
  const { alarms, since } = desk()
  alarms.obey = (told) => (told.key === 'off' ? undefined : { ...told, severity: 'notice' })
  alarms.raise(cause('off'))
  alarms.raise(cause('on'))
  expect(since()).toEqual(['raised on 1'])
  expect(alarms.active).toMatchObject([{ severity: 'notice' }])
})

it('puts back what nobody had seen by its time, told of already, and lists the newest first', async () => {
  const { clock, alarms, since } = desk()
  await clock.sleep(10_000)
  alarms.raise(cause('new'))
  since()
  const view = (utcUs: number): AlarmView => ({
    ...{ id: 'x', utcUs, severity: 'alarm', subject: null, words: `Of ${utcUs}.`, count: 2, active: true },
    ...{ acknowledgedBy: null, acknowledgedUtcUs: null },
  })
  alarms.putBack([
    { view: view(5), cause: cause('later') },
    { view: view(3), cause: cause('sooner') },
  ])
  expect(since()).toEqual([])
  expect(alarms.list().map(({ id, words, active }) => [id, words, active])).toEqual([
    ['alarm-1', 'new.', true],
    ['alarm-2', 'Of 5.', false],
    ['alarm-3', 'Of 3.', false],
  ])
  // What holds stands in the list however few are asked for; what has ended has the room that is left.
  expect([0, 1, 2, 3].map((most) => alarms.list(most).length)).toEqual([1, 1, 2, 3])
  alarms.raise(cause('sooner'))
  expect(since()).toEqual([])
  expect(alarms.active.map(({ words, count }) => [words, count])).toEqual([
    ['Of 3.', 3],
    ['new.', 1],
  ])
})

it('shows the sentence that holds now where another thing is said of the same alarm, and tells nobody twice', () => {
  const { alarms, since } = desk()
  const disk = { key: 'disk', kind: 'disk', severity: 'alarm', subject: null } as const
  alarms.raise({ ...disk, said: asTold('A reading could not be stored: disk full.') })
  alarms.raise({ ...disk, said: said('disk-nearly-full', {}) })
  expect(alarms.list()).toMatchObject([{ words: said('disk-nearly-full', {}).words, count: 1, active: true }])
  expect(since()).toEqual(['raised disk 1'])
  alarms.end('disk')
  alarms.raise({ ...disk, said: asTold('A reading could not be stored: disk full.') })
  expect(alarms.list()).toMatchObject([{ words: 'A reading could not be stored: disk full.', count: 2 }])
})
