import { describe, expect, it, onTestFinished } from 'vitest'
import { asTold } from '../../app/messages/said.ts'
import { Thermometer } from '../../app/records/register.ts'
import { AlarmDesk } from '../../main/station/alarm-desk.ts'
import { DueWatch } from '../../main/station/due-watch.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { exampleSetup, temporaryFolder } from '../store/example.ts'

const DAY_US = 86_400e6
const START_US = Date.parse('2026-03-01T12:00:00Z') * 1000
const rule = {
  id: 'due',
  kind: 'calibration-due',
  above: 30,
  hysteresis: 0,
  severity: 'notice',
  enabled: true,
} as const

function station() {
  const at = { utcUs: START_US }
  const clock = {
    now: () => ({ utcUs: at.utcUs, monoUs: at.utcUs - START_US }),
    after: () => ({ dispose: () => undefined }),
    sleep: () => Promise.resolve(),
  }
  const store = openStationStore(temporaryFolder(), { clock })
  onTestFinished(() => store.close())
  const desk = new AlarmDesk(clock)
  const told: string[] = []
  const codes: string[] = []
  desk.onDidChange.on(({ what, alarm, cause }) => {
    if (what === 'raised' && !cause.quiet) {
      told.push(alarm.words)
      codes.push(cause.said.code)
    }
  })
  const running: { setup: typeof exampleSetup | undefined } = { setup: undefined }
  const watch = new DueWatch({
    clock,
    desk,
    session: () => (running.setup ? { setup: running.setup } : undefined),
    due: (dueBy, ids) => store.records.list({ kinds: ['thermometer'], dueBy, ids, sort: 'due' }),
  })
  const add = (id: string, due: string) =>
    store.saveThermometer(
      Thermometer.parse({
        ...{ id, name: `Thermometer ${id}`, kind: 'prt', lowC: 0, highC: 100 },
        calibrations: [
          {
            ...{ id: 'c', date: '2025-03-01', due, certificate: 'K', laboratory: 'L', lowC: 0, highC: 100 },
            conversion: { kind: 'callendar-van-dusen', r0: 100, a: 3.9083e-3, b: -5.775e-7, c: 0 },
          },
        ],
      }),
      'test',
      '',
    )
  return { at, store, desk, told, codes, watch, add, running }
}

describe('calibrations that are due', () => {
  it('are one notice that counts, however many, and never push an alarm that holds off the list', () => {
    const { desk, watch, add, at } = station()
    desk.raise({
      key: 'hot',
      kind: 'bath',
      severity: 'alarm',
      subject: 'bath',
      said: asTold('The bath is too hot.'),
    })
    for (let i = 0; i < 1500; i += 1) add(`t${i}`, i < 40 ? '2026-02-01' : '2026-03-20')
    for (let hour = 0; hour < 48; hour += 1) {
      at.utcUs = START_US + (hour / 24) * DAY_US
      watch.look(rule)
    }
    expect(desk.list().map(({ words, active, count }) => [words, active, count])).toEqual([
      [
        '1500 calibrations are due, 40 of them overdue; the first is that of Thermometer t0, 2026-02-01. The register lists them under Due dates.',
        true,
        1,
      ],
      ['The bath is too hot.', true, 1],
    ])
  })

  it('are told again when they are others, also after somebody has seen the notice, and end when none is left', () => {
    const { desk, watch, add, store } = station()
    add('t1', '2026-03-20')
    watch.look(rule)
    expect(desk.list()[0]).toMatchObject({ words: 'The calibration of Thermometer t1 is due on 2026-03-20.' })
    desk.acknowledge(desk.list()[0]!.id, 'A. Person')
    watch.look(rule)
    expect(desk.list()).toHaveLength(1)
    add('t2', '2026-03-21')
    watch.look(rule)
    expect(desk.list().map(({ active, acknowledgedBy }) => [active, acknowledgedBy])).toEqual([
      [true, null],
      [false, 'A. Person'],
    ])
    for (const id of ['t1', 't2']) store.records.retire('thermometer', id, { who: 'A', why: 'sold' })
    watch.look(rule)
    expect(desk.active).toEqual([])
  })

  it('count from the day that lies as far ahead as the rule says, and are overdue from the day after', () => {
    const { desk, watch, add, store } = station()
    const words = () => {
      watch.look(rule)
      return desk.list().find(({ active }) => active)?.words
    }
    // 30 days after 2026-03-01, as the month has 31.
    add('later', '2026-04-01')
    expect(words()).toBeUndefined()
    add('last', '2026-03-31')
    expect(words()).toBe('The calibration of Thermometer last is due on 2026-03-31.')
    store.records.retire('thermometer', 'last', { who: 'A', why: 'sold' })
    add('today', '2026-03-01')
    expect(words()).toBe('The calibration of Thermometer today is due on 2026-03-01.')
    store.records.retire('thermometer', 'today', { who: 'A', why: 'sold' })
    add('past', '2026-02-28')
    expect(words()).toBe('The calibration of Thermometer past was due on 2026-02-28.')
    add('ahead', '2026-03-02')
    expect(words()).toContain(
      '2 calibrations are due, 1 of them overdue; the first is that of Thermometer past',
    )
    store.records.retire('thermometer', 'past', { who: 'A', why: 'sold' })
    add('ahead-too', '2026-03-03')
    expect(words()).toContain('2 calibrations are due; the first is that of Thermometer ahead, 2026-03-02')
  })

  it('of a subject are of that one alone, in the list and in the session', () => {
    const { desk, watch, add, told, running, store } = station()
    add('used', '2026-02-01')
    add('other', '2026-02-01')
    running.setup = {
      ...exampleSetup,
      register: {
        ...exampleSetup.register,
        thermometers: store.records.some('thermometer', ['used', 'other']),
      },
    }
    watch.look({ ...rule, subject: 'used' })
    expect(desk.list().map(({ words }) => words)).toContain(
      'The calibration of Thermometer used was due on 2026-02-01.',
    )
    expect(told).toEqual([
      'Recalibration of Thermometer used, which this session measures with: overdue by 28 days (2026-02-01).',
    ])
    watch.look({ ...rule, subject: 'another' })
    expect(desk.active).toEqual([])
  })

  it('of what the running session measures with are told to people, and those of other records are not', () => {
    const { desk, told, codes, watch, add, running, store } = station()
    add('used', '2026-02-01')
    add('tested', '2026-02-01')
    for (let i = 0; i < 20; i += 1) add(`other-${i}`, '2026-02-01')
    const { bench, register } = exampleSetup
    const [channel] = bench.channels
    running.setup = {
      ...exampleSetup,
      bench: {
        ...bench,
        channels: [
          { ...channel!, id: 'a', role: 'reference', thermometer: 'used' },
          { ...channel!, id: 'b', role: 'under-test', thermometer: 'tested' },
        ],
      },
      register: { ...register, thermometers: store.records.some('thermometer', ['used', 'tested']) },
    }
    watch.look(rule)
    watch.look(rule)
    expect(codes.at(-1)).toBe('recalibration-in-use')
    expect(told).toEqual([
      'Recalibration of Thermometer used, which this session measures with: overdue by 28 days (2026-02-01).',
    ])
    running.setup = undefined
    watch.look(rule)
    expect(desk.active.map(({ subject }) => subject)).toEqual([null])
  })
})

describe('AlarmDesk', () => {
  it('keeps every alarm that holds, and lets the oldest go of those that have ended', () => {
    const { desk } = station()
    const cause = (key: string) =>
      ({ key, kind: 'link', severity: 'warning', subject: key, said: asTold(key) }) as const
    for (let i = 0; i < 1200; i += 1) desk.raise(cause(`held-${i}`))
    for (let i = 0; i < 300; i += 1) {
      desk.raise(cause(`gone-${i}`))
      desk.end(`gone-${i}`)
    }
    expect(desk.active).toHaveLength(1200)
    expect(desk.list(100)).toHaveLength(1200)
    for (let i = 0; i < 1200; i += 1) desk.end(`held-${i}`)
    desk.raise(cause('last'))
    expect(desk.count).toBe(1000)
    expect(desk.list(100)).toHaveLength(100)
    expect(desk.list(100)[0]).toMatchObject({ words: 'last', active: true })
  })
})
