import pino from 'pino'
import { describe, expect, it, onTestFinished } from 'vitest'
import type { AnyInstrument, Bath, EnvironmentSensor, TrafficLine } from '../../app/instruments/faces.ts'
import { InstrumentError } from '../../app/instruments/faces.ts'
import { asTold, sentenceOf } from '../../app/messages/said.ts'
import { AlarmDesk } from '../../main/station/alarm-desk.ts'
import { goOnTryingSafe } from '../../main/station/bath-afterwards.ts'
import { BY_HAND, setByHand } from '../../main/station/bath-by-hand.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'
import { watchEnvironment } from '../../main/station/environment.ts'
import { PlanBook } from '../../main/station/plan-book.ts'
import { Questions } from '../../main/station/questions.ts'
import type { Batch, EventWords, Recorder } from '../../main/station/recorder.ts'
import { firstState } from '../../main/station/runner-state.ts'
import { Signal } from '../../main/station/signals.ts'
import { TrafficLog } from '../../main/station/traffic-log.ts'
import { BENCH } from '../app/results/bench-fixture.ts'

function virtualClock() {
  const clock = new VirtualClock({ startUtcUs: 0 })
  onTestFinished(() => clock.stop())
  return clock
}

/** Writes down what is to be stored; `refuses` makes it throw as a full disk does. */
function recording() {
  const told: EventWords[] = []
  const batches: Batch[] = []
  const state = { refuses: false, utcUs: 7 }
  const recorder = {
    now: () => ({ utcUs: state.utcUs, monoUs: 0 }),
    tell: (event: EventWords) => told.push(event),
    event: (event: EventWords) => {
      told.push(event)
      return event
    },
    commit: (batch: Batch) => {
      if (state.refuses) throw new Error('full')
      batches.push(batch)
    },
    attempt: (batch: Batch) => batches.push(batch),
  } as unknown as Recorder
  return { recorder, told, batches, state }
}

describe('the room', () => {
  it('is written down every five minutes as the sensor tells it, and not while it is away', async () => {
    const clock = virtualClock()
    const { recorder, told } = recording()
    const sensor = {
      id: 'room',
      status: { state: 'ready' },
      values: ['+21.5', undefined, '1001.2'] as (string | undefined)[],
      fault: undefined as Error | undefined,
      readAll() {
        if (this.fault) return Promise.reject(this.fault)
        const units = ['degC', '%', 'hPa']
        const names = ['air-temperature', 'humidity', 'pressure']
        return Promise.resolve(
          names.map((quantity, i) => ({ quantity, measured: { value: this.values[i], unit: units[i] } })),
        )
      },
    }
    const watching = watchEnvironment(sensor as unknown as EnvironmentSensor, clock, recorder)
    await clock.sleep(1)
    expect(told).toMatchObject([
      {
        ...{ kind: 'environment', subject: 'room' },
        data: { 'air-temperature': '+21.5', humidity: null, pressure: '1001.2' },
      },
    ])
    expect(sentenceOf(told[0]!.said)).toBe('The room: air 21.5 °C, pressure 1001.2 hPa.')
    await clock.sleep(299_000)
    expect(told).toHaveLength(1)
    sensor.fault = new InstrumentError('silent', 'room', asTold('The room does not answer.'))
    await clock.sleep(300_000)
    sensor.fault = undefined
    sensor.status.state = 'lost'
    await clock.sleep(300_000)
    sensor.status.state = 'ready'
    sensor.values = [undefined, undefined, undefined]
    await clock.sleep(300_000)
    expect(told).toHaveLength(1)
    sensor.values = ['21', '40', '1000']
    await clock.sleep(300_000)
    expect(told).toHaveLength(2)
    watching.dispose()
    await clock.sleep(900_000)
    expect(told).toHaveLength(2)
  })
})

describe('a bath that did not confirm its safe setpoint', () => {
  it('is asked again each minute until it does, and then alarms no longer', async () => {
    const clock = virtualClock()
    const alarms = new AlarmDesk(clock)
    const state = { link: 'lost', refuses: true, mine: true }
    const asked: number[] = []
    const bath = {
      id: 'bath',
      status: {
        get state() {
          return state.link
        },
      },
      setSetpoint: (celsius: number) => {
        asked.push(celsius)
        return state.refuses ? Promise.reject(new Error('not confirmed')) : Promise.resolve()
      },
    } as unknown as Bath
    const begin = () => {
      alarms.raise({
        ...{ key: 'bath-unsafe', kind: 'bath', severity: 'alarm', subject: null },
        said: asTold('The bath is hot.'),
      })
      const log = pino({ level: 'silent' })
      const spec = { ...BENCH.bath!, safeC: 25 }
      return goOnTryingSafe({ spec, bath: () => bath, clock, alarms, log, goOn: () => state.mine })
    }
    const done = begin()
    await clock.sleep(90_000)
    expect([asked, alarms.active.length]).toEqual([[], 1])
    state.link = 'ready'
    await clock.sleep(60_000)
    expect([asked, alarms.active.length]).toEqual([[25], 1])
    state.refuses = false
    await clock.sleep(60_000)
    await done
    expect([asked, alarms.active.length]).toEqual([[25, 25], 0])
    // Where something else runs by then it is nobody's business any more.
    state.mine = false
    await begin()
    expect([asked.length, alarms.active.length]).toEqual([2, 1])
  })
})

describe('a bath that is set by hand', () => {
  it('is asked for with an alarm, and written down with who has set it; what was left out is not', async () => {
    const clock = virtualClock()
    const alarms = new AlarmDesk(clock)
    const questions = new Questions(() => undefined)
    const { recorder, told, batches } = recording()
    const parts = { bath: 'oil', questions, alarms, recorder }
    const ask = (choice: string) => {
      const asked = setByHand(parts, 28.5, new AbortController().signal)
      expect(alarms.active).toMatchObject([
        { words: 'The plan waits for oil to be set to 28.5 °C by hand.', severity: 'notice' },
      ])
      expect(questions.open!.choices).toEqual(['Set', 'Skip this setpoint', 'Stop the plan'])
      questions.answer(questions.open!.id, choice, 'M. Ode')
      return asked
    }
    expect(await ask(BY_HAND.skip)).toEqual({ choice: BY_HAND.skip, who: 'M. Ode' })
    expect([alarms.active, batches]).toEqual([[], []])
    await ask(BY_HAND.set)
    expect(batches).toHaveLength(1)
    expect(told).toMatchObject([{ kind: 'setpoint', who: 'M. Ode', data: { celsius: 28.5, byHand: true } }])
    const gone = new AbortController()
    const asked = setByHand(parts, 30, gone.signal)
    gone.abort(new Error('stopped'))
    await expect(asked).rejects.toThrow('stopped')
    expect(alarms.active).toEqual([])
  })
})

describe('PlanBook', () => {
  it('stores where the plan stands with what led there, and has not moved where that cannot be stored', () => {
    const { recorder, batches, told, state } = recording()
    let changes = 0
    const book = new PlanBook(recorder, firstState(3), () => {
      changes += 1
    })
    const step = { kind: 'plan-step', said: asTold('On.'), data: { own: 1 } } as const
    const before = { kind: 'note', words: 'before' }
    book.write({ phase: 'setting', step: 2 }, [step], { events: [before] } as unknown as Batch)
    expect(book.state).toMatchObject({ phase: 'setting', step: 2, phaseSinceUtcUs: 7 })
    expect(told).toMatchObject([{ data: { own: 1, phase: 'setting', part: 'wtp-before', step: 2 } }])
    expect(batches[0]!.events).toMatchObject([before, { data: { own: 1 } }])
    expect(batches[0]!.runner).toEqual(book.state)
    state.utcUs = 99
    book.write({ phase: 'setting', marks: ['late'] })
    expect(book.state).toMatchObject({ phaseSinceUtcUs: 7, marks: ['late'] })
    state.refuses = true
    expect(() => book.write({ phase: 'waiting' })).toThrow('full')
    expect([book.state.phase, changes]).toEqual(['setting', 2])
    // The way to safety does not wait for a disk.
    book.writeIfPossible({ phase: 'stopping' }, [step])
    expect(book.state).toMatchObject({ phase: 'stopping', phaseSinceUtcUs: 99 })
    expect([changes, batches.at(-1)!.events]).toMatchObject([3, [{ data: { phase: 'stopping' } }]])
  })
})

describe('TrafficLog', () => {
  it('keeps the latest lines of all links, and gives those of one', () => {
    const log = new TrafficLog()
    const lines = new Signal<TrafficLine>()
    const other = new Signal<TrafficLine>()
    const instrument = (id: string, signal: Signal<TrafficLine>) =>
      ({
        id,
        onTraffic: (listener: (line: TrafficLine) => void) => signal.on(listener),
      }) as unknown as AnyInstrument
    const heard: string[] = []
    log.onLine.on(({ instrument: from }) => heard.push(from))
    const end = log.follow(instrument('a', lines))
    log.follow(instrument('b', other))
    const line = (text: string) => ({ text }) as unknown as TrafficLine
    const texts = (most: number, of?: string) =>
      log.recent(most, of).map((each) => (each as unknown as { text: string }).text)
    for (const text of ['1', '2', '3']) lines.emit(line(text))
    other.emit(line('4'))
    expect(texts(2)).toEqual(['3', '4'])
    expect(texts(2, 'a')).toEqual(['2', '3'])
    expect([texts(0), texts(-1), texts(9).length]).toEqual([[], [], 4])
    expect(heard).toEqual(['a', 'a', 'a', 'b'])
    for (let i = 0; i < 12_000; i += 1) other.emit(line(`b${i}`))
    expect(texts(1e9).length).toBe(5_000)
    expect(texts(1)).toEqual(['b11999'])
    expect(texts(9, 'a')).toEqual([])
    end.dispose()
    lines.emit(line('late'))
    expect(texts(9, 'a')).toEqual([])
  })
})
