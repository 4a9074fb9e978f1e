import { afterEach, describe, expect, it } from 'vitest'
import type { Bath, Meter, Scanner } from '../../../app/instruments/faces.ts'
import { printBlock } from '../../../drivers/language/blocks.ts'
import type { ProfileText } from '../../../drivers/profile/schema.ts'
import { type Behaviour, type MadeUp, madeUp, profileOf } from './made-up.ts'

/** What format 2 can say, each with a made-up instrument at a real socket that obeys one reading of the rule and no other. */
let there: MadeUp
afterEach(() => there.close())

const value = { kind: 'value', unit: 'ohm' } as const
const text = { kind: 'text' } as const
const command = (send: string, more: object = {}) =>
  ({ doc: 'Of a made-up instrument.', send, risk: 'read-only', ...more }) as NonNullable<
    ProfileText['commands']
  >[string]

describe('a conversion', () => {
  const FAHRENHEIT = { plus: -32, times: 5, over: 9 }
  const bath = profileOf({
    role: 'bath',
    unit: undefined,
    commands: {
      set: command('SP={celsius}', {
        risk: 'hazardous',
        parameters: { celsius: { unit: 'degC', low: 10, high: 95, decimals: 2, linear: FAHRENHEIT } },
        confirm: { ask: 'setpoint', parameter: 'celsius', within: 0.01 },
      }),
      setpoint: command('SP?', { answer: { ...value, unit: 'degC', linear: FAHRENHEIT } }),
      temperature: command('T?', { answer: { ...value, unit: 'degC', linear: FAHRENHEIT } }),
    },
    capabilities: {
      'set-setpoint': ['set'],
      'read-setpoint': ['setpoint'],
      'read-temperature': ['temperature'],
    },
  })
  let set = '77.00'
  const behave: Behaviour = (line, say) => {
    if (line === 'SP?') say(`${set}\n`)
    else if (line === 'T?') say('98.60\n')
    else if (line.startsWith('SP=')) set = line.slice(3)
  }

  it('sends degrees Fahrenheit and reads them back, and holds the limits in our unit on every path', async () => {
    there = await madeUp(bath, behave)
    const mine = there.instrument<Bath>()
    expect((await mine.readTemperature()).value).toBe('37.000000')
    expect((await mine.readTemperature()).raw).toBe('98.60')
    await mine.setSetpoint(37)
    expect(there.heard).toContain('SP=98.60')
    await expect(mine.setSetpoint(96)).rejects.toMatchObject({ code: 'refused' })
    // 96 would be within the limits if it were taken for degrees Celsius of the instrument; it is 35.6 degC.
    await mine.converse('SP=96.00')
    // 204 degF are 95.6 degC: beyond, though a typed line.
    await expect(mine.converse('SP=204.00')).rejects.toMatchObject({ code: 'refused' })
    // The bench's own limits are in degC too.
    mine.limits = { lowC: 20, highC: 60 }
    await expect(mine.converse('SP=150.00')).rejects.toMatchObject({ code: 'refused' })
    await there.clock.sleep(10)
    expect(there.heard.filter((line) => line.startsWith('SP='))).toEqual(['SP=98.60', 'SP=96.00'])
  })
})

describe('lines that mean nothing, and an echo that comes now and then', () => {
  it('disturb neither answers nor what is between them', async () => {
    let asked = 0
    there = await madeUp(
      profileOf({
        framing: { send: '\n', receive: '\n', echo: 'sometimes', ignore: ['^\\* '] },
        commands: { dim: command('DIM', { risk: 'setting' }) },
        capabilities: { measure: ['dim', 'read'] },
      }),
      (line, say) => {
        asked++
        if (line === 'DIM') return void (asked % 4 === 1 && say('DIM\n'))
        if (asked % 4 === 0) say('R?\n')
        say('* heater on\n')
        say.clock.after(30, () => {
          say('* heater off\n')
          say(`${100 + asked}.0\n`)
        })
      },
    )
    const meter = there.instrument<Meter>()
    for (let i = 1; i <= 6; i++) {
      there.say('* fan\n')
      await there.clock.sleep(50)
      const measured = await meter.measure({})
      expect(measured).toMatchObject({ value: `${100 + 2 * i}.0`, marks: [] })
    }
    expect(meter.status.faults).toBe(0)
  })

  it('leave a silent instrument silent', async () => {
    there = await madeUp(
      profileOf({ framing: { send: '\n', receive: '\n', ignore: ['^\\* '] } }),
      (_line, say) => {
        const chat = () => {
          say('* alive\n')
          say.clock.after(100, chat)
        }
        chat()
      },
    )
    expect(await there.instrument<Meter>().measure({})).toMatchObject({ value: undefined, marks: ['silent'] })
  })
})

describe('several values of one answer', () => {
  it('go to the inputs they are of', async () => {
    there = await madeUp(
      profileOf({
        inputs: { count: 3 },
        commands: { read: command('R?', { answer: { ...value, many: { of: 'inputs', separator: ',' } } }) },
      }),
      (_line, say) => say('100.1,200.2,300.3\n'),
    )
    const measured = await there.instrument<Meter>().measure({ input: 2 })
    expect(measured).toMatchObject({ value: '200.2', raw: '200.2', marks: [] })
    expect(measured.row?.map(({ input, value: text, at }) => [input, text, at.monoUs])).toEqual([
      [1, '100.1', measured.at.monoUs],
      [3, '300.3', measured.at.monoUs],
    ])
  })

  it('are believed where they name their inputs, and one that lacks the input asked for is not', async () => {
    const named = { of: 'inputs', separator: ';' }
    const answer = { ...value, pattern: '^(?<input>\\d\\d):(?<value>\\d+\\.\\d)$', many: named }
    there = await madeUp(
      profileOf({ inputs: { count: 8, first: 10 }, commands: { read: command('R?', { answer }) } }),
      (_line, say) => say('12:1.5;10:2.5\n'),
    )
    const meter = there.instrument<Meter>()
    expect(await meter.measure({ input: 1 })).toMatchObject({
      value: '2.5',
      namesInput: true,
      row: [{ input: 3 }],
    })
    expect(await meter.measure({ input: 2 })).toMatchObject({ value: undefined, marks: ['garbled'] })
  })

  it('have the times that the instrument tells, or lie evenly within the exchange', async () => {
    const many = { of: 'moments', separator: ' ', timePower: -3 }
    const answers = ['1.0@50 2.0@150 3.0@350\n', '1.0 2.0 3.0 4.0\n']
    there = await madeUp(
      profileOf({
        commands: {
          read: command('R?', {
            answer: { ...value, pattern: '^(?<value>\\d\\.\\d)(?:@(?<time>\\d+))?$', many },
          }),
        },
      }),
      (_line, say) => say.clock.after(400, () => say(answers.shift()!)),
    )
    const meter = there.instrument<Meter>()
    const told = await meter.measure({})
    expect(told).toMatchObject({ value: '3.0', moments: 'told' })
    expect(told.row?.map(({ value: text, at }) => [text, told.at.monoUs - at.monoUs])).toEqual([
      ['1.0', 300_000],
      ['2.0', 200_000],
    ])
    const spread = await meter.measure({})
    expect(spread).toMatchObject({ value: '4.0', moments: 'spread' })
    const ages = spread.row!.map(({ at }) => spread.at.monoUs - at.monoUs)
    expect(ages[0]! / ages[2]!).toBeCloseTo(3, 3)
    expect(ages[0]!).toBeGreaterThanOrEqual(300_000)
    expect(ages[0]!).toBeLessThan(310_000)
  })
})

describe('binary numbers', () => {
  const bytesOf = (numbers: number[], type: 'Float32' | 'Int16', little: boolean) => {
    const size = type === 'Float32' ? 4 : 2
    const view = new DataView(new ArrayBuffer(numbers.length * size))
    for (const [i, n] of numbers.entries()) view[`set${type}`](i * size, n, little)
    return Buffer.from(view.buffer).toString('latin1')
  }
  const profile = (numbers: object, many?: object) =>
    profileOf({
      framing: { send: '\n', receive: '\n', blocks: true, characters: 'latin1' },
      commands: {
        read: command('R?', { answer: { ...value, block: true, numbers, ...(many && { many }) } }),
      },
    })

  it.each([true, false])('are read in either order of their bytes, little end first: %s', async (little) => {
    const order = little ? 'little' : 'big'
    // 0x0A, the terminator, stands among the bytes.
    const sent = bytesOf([100.25, 2570, -0.1], 'Float32', little)
    there = await madeUp(profile({ type: 'float32', order }, { of: 'moments' }), (_line, say) =>
      say(`${printBlock(sent)}\n`),
    )
    const measured = await there.instrument<Meter>().measure({})
    expect(measured.row?.map((each) => each.value)).toEqual(['100.25', '2570'])
    expect(measured).toMatchObject({ value: '-0.1', marks: [] })
    expect(measured.raw).toBe(little ? '0xCDCCCCBD' : '0xBDCCCCCD')
  })

  it('come in a block without a length where the bus tells its end, whatever its bytes', async () => {
    const sent = bytesOf([0x0a0a, 10, 0x230a], 'Int16', false)
    there = await madeUp(
      profile({ type: 'int16', order: 'big' }, { of: 'moments' }),
      (_line, say) => say(`#0${sent}\n`),
      { bus: 'hislip' },
    )
    const meter = there.instrument<Meter>()
    for (let i = 0; i < 3; i++) {
      const measured = await meter.measure({})
      expect([...measured.row!.map((each) => each.value), measured.value]).toEqual(['2570', '10', '8970'])
    }
    expect(meter.status.faults).toBe(0)
  })

  it('are not believed where the bytes do not come out even, and not-a-number is a mark', async () => {
    const sent = [
      '\x00\x00\x00',
      bytesOf([Number.NaN], 'Float32', false),
      bytesOf([-Infinity], 'Float32', false),
    ]
    there = await madeUp(profile({ type: 'float32', order: 'big' }), (_line, say) =>
      say(`${printBlock(sent.shift()!)}\n`),
    )
    const meter = there.instrument<Meter>()
    expect(await meter.measure({})).toMatchObject({ value: undefined, marks: ['garbled'] })
    expect(await meter.measure({})).toMatchObject({ value: undefined, marks: ['not-a-number'] })
    expect(await meter.measure({})).toMatchObject({ value: undefined, marks: ['under-range'] })
  })
})

describe('steps', () => {
  it('prepare an instrument by what it answers, and only so', async () => {
    const profile = profileOf({
      prepare: [{ when: { ask: 'mode', equals: ['LOCAL', 'MENU'] }, do: ['remote'], else: ['clear'] }],
      commands: {
        mode: command('MODE?', { answer: text }),
        remote: command('REMOTE', { risk: 'setting' }),
        clear: command('CLEAR', { risk: 'setting' }),
      },
    })
    there = await madeUp(profile, (line, say) => line === 'MODE?' && say('MENU\n'))
    await there.clock.sleep(10)
    expect(there.heard).toEqual(['MODE?', 'REMOTE'])
    await there.close()
    there = await madeUp(profile, (line, say) => line === 'MODE?' && say('REM\n'))
    await there.clock.sleep(10)
    expect(there.heard).toEqual(['MODE?', 'CLEAR'])
  })

  it('go round until an answer is so, and no more often than they may', async () => {
    let left = 3
    const profile = profileOf({
      commands: {
        nudge: command('NUDGE', { risk: 'setting' }),
        off: command('OFF?', { answer: value }),
        status: command('S?', { answer: { kind: 'bits' } }),
        low: command('RL?', { answer: value }),
      },
      capabilities: {
        measure: [
          { repeat: ['nudge'], until: { ask: 'off', most: 0.5, least: -0.5 }, most: 5, everyMs: 200 },
          { when: { ask: 'status', set: 4, clear: 1 }, do: ['low'], else: ['read'] },
        ],
      },
    })
    let status = 4
    there = await madeUp(profile, (line, say) => {
      if (line === 'NUDGE') left--
      else if (line === 'OFF?') say(`${left}\n`)
      else if (line === 'S?') say(`${status}\n`)
      else say(line === 'RL?' ? '10.5\n' : '99.5\n')
    })
    const meter = there.instrument<Meter>()
    const fromUs = there.clock.now().monoUs
    expect(await meter.measure({})).toMatchObject({ value: '10.5', marks: [] })
    expect(there.heard.filter((line) => line === 'NUDGE')).toHaveLength(3)
    expect(there.clock.now().monoUs - fromUs).toBeGreaterThanOrEqual(400_000)
    status = 5
    left = 1
    expect(await meter.measure({})).toMatchObject({ value: '99.5', marks: [] })
    left = 100
    there.heard.length = 0
    expect(await meter.measure({})).toMatchObject({ value: undefined, marks: ['silent'] })
    expect(there.heard.filter((line) => line === 'NUDGE')).toHaveLength(5)
    expect(there.heard).not.toContain('S?')
  })
})

describe('a meter that tells its values by itself', () => {
  const stream = {
    pattern: '^V (?<time>\\d+) (?<value>\\d+\\.\\d) F(?<status>[01])$',
    longestSilenceS: 5,
    freshS: 1,
    timePower: -3,
    value: { status: { 1: 'over-range' as const }, linear: { times: 2 } },
  }

  it('is heard from the moment it is asked for, with its own times, and answers questions besides', async () => {
    there = await madeUp(profileOf({ stream, capabilities: {} }), () => undefined)
    const meter = there.instrument<Meter>()
    // On its way for 0, 300 and 0 ms.
    const tell = async (timeMs: number, delayMs: number, rest: string) => {
      await there.clock.sleep(delayMs)
      there.say(`V ${timeMs} ${rest}\n`)
      await there.clock.sleep(1)
    }
    await tell(1000, 0, '1.5 F0')
    const startUs = there.clock.now().monoUs
    const first = meter.measure({})
    await tell(2000, 1300, '2.5 F0')
    const late = await first
    expect(late).toMatchObject({ value: '5.0', raw: 'V 2000 2.5 F0', marks: [] })
    // It was heard 1.3 s after the first one, and says that it is of 1 s after it.
    expect((late.at.monoUs - startUs) / 1000).toBeGreaterThan(990)
    expect((late.at.monoUs - startUs) / 1000).toBeLessThan(1010)
    const second = meter.measure({})
    await tell(3000, 700, '9.9 F1')
    expect(await second).toMatchObject({ marks: ['over-range'] })
    expect(await meter.measure({})).toMatchObject({ value: undefined, marks: ['silent'] })
  })

  it('has no value that was begun before it was asked for', async () => {
    const slow = { ...stream, takesMs: 400 }
    there = await madeUp(profileOf({ stream: slow, capabilities: {} }), () => undefined)
    const asked = there.instrument<Meter>().measure({})
    let n = 0
    const tick = () => {
      n++
      there.say(`V ${n * 300} ${n}.0 F0\n`)
      if (n < 5) there.clock.after(300, tick)
    }
    there.clock.after(300, tick)
    // Heard after 0.3 and 0.6 s: the first was begun before.
    expect((await asked).value).toBe('4.0')
  })
})

describe('a service request', () => {
  it('is waited for in place of polling', async () => {
    const profile = profileOf({
      link: { serviceRequests: true },
      commands: {
        start: command('START', { risk: 'setting' }),
        done: command('S?', {
          answer: { kind: 'bits' },
          poll: { everyMs: 20_000, longestMs: 60_000, set: 1, onRequest: true },
        }),
      },
      capabilities: { measure: ['start', 'done', 'read'] },
    })
    let ready = false
    there = await madeUp(
      profile,
      (line, say) => {
        if (line === 'START') {
          ready = false
          say.clock.after(3000, () => {
            ready = true
            say.request(64)
          })
        } else if (line === 'S?') say(ready ? '1\n' : '0\n')
        else say('77.5\n')
      },
      { bus: 'hislip' },
    )
    const meter = there.instrument<Meter>()
    for (let i = 0; i < 2; i++) {
      there.heard.length = 0
      const fromUs = there.clock.now().monoUs
      expect(await meter.measure({})).toMatchObject({ value: '77.5', marks: [] })
      const tookMs = (there.clock.now().monoUs - fromUs) / 1000
      expect(tookMs).toBeGreaterThanOrEqual(3000)
      expect(tookMs).toBeLessThan(4000)
      expect(there.heard).toEqual(['START', 'S?', 'R?'])
    }
  })
})

describe('measuring ranges', () => {
  it('are set for each measurement that wants another one, waited for, and hold their end', async () => {
    const profile = profileOf({
      ranges: [
        { name: '100 ohm', upTo: 120, pauseMs: 700, accuracy: { readingPpm: 20, rangePpm: 5 } },
        { name: 'automatic', pauseMs: 2000 },
      ],
      commands: {
        range: command('RANGE {range}', {
          risk: 'setting',
          parameters: { range: { words: { '100 ohm': '1E2', automatic: 'AUTO' } } },
        }),
      },
      capabilities: { measure: ['read'], 'set-range': ['range'] },
    })
    const values = ['100.5', '100.6', '130.0', '130.1']
    there = await madeUp(profile, (line, say) => line === 'R?' && say(`${values.shift()}\n`))
    const meter = there.instrument<Meter>()
    const fromUs = there.clock.now().monoUs
    expect(await meter.measure({ range: '100 ohm' })).toMatchObject({ value: '100.5', marks: [] })
    expect((there.clock.now().monoUs - fromUs) / 1000).toBeGreaterThanOrEqual(700)
    expect(await meter.measure({ range: '100 ohm' })).toMatchObject({ value: '100.6', marks: [] })
    expect(await meter.measure({ range: '100 ohm' })).toMatchObject({ marks: ['over-range'] })
    expect(await meter.measure({ range: 'automatic' })).toMatchObject({ value: '130.1', marks: [] })
    expect(there.heard).toEqual(['RANGE 1E2', 'R?', 'R?', 'R?', 'RANGE AUTO', 'R?'])
    await expect(meter.measure({ range: '1 kohm' })).rejects.toMatchObject({ code: 'refused' })
    expect(meter.ranges).toEqual(['100 ohm', 'automatic'])
  })
})

describe('a case that holds several instruments', () => {
  const profile = profileOf({
    role: 'bath',
    unit: undefined,
    commands: {
      set: command('SP={celsius}', {
        risk: 'hazardous',
        parameters: { celsius: { unit: 'degC', low: 0, high: 90, decimals: 1 } },
      }),
      setpoint: command('SP?', { answer: { ...value, unit: 'degC' } }),
      temperature: command('T?', { answer: { ...value, unit: 'degC' } }),
      probe: command('P{input}?', { answer: value }),
      close: command('CH{input}', { risk: 'setting' }),
      events: command('E?', { answer: { kind: 'bits' } }),
    },
    watch: { ask: 'events', powerUp: 128 },
    capabilities: {
      'set-setpoint': ['set'],
      'read-setpoint': ['setpoint'],
      'read-temperature': ['temperature'],
    },
    parts: {
      reference: {
        title: 'Reference thermometer of the bath',
        role: 'meter',
        unit: 'ohm',
        inputs: { count: 2, first: 5 },
        capabilities: { measure: ['probe'] },
      },
      switch: {
        title: 'Scanner of the bath',
        role: 'scanner',
        inputs: { count: 4 },
        capabilities: { select: ['close'] },
      },
    },
  })

  it('has one line for all of them, and what happens to it happens to each', async () => {
    let events = 0
    there = await madeUp(profile, (line, say) => {
      if (line === 'E?') {
        say(`${events}\n`)
        events = 0
      } else if (line.endsWith('?')) say(line === 'P6?' ? '108.2\n' : '25.0\n')
    })
    const bath = there.instrument<Bath>()
    const meter = there.instrument<Meter>('made-up/reference')
    const scanner = there.instrument<Scanner>('made-up/switch')
    expect([bath.role, meter.role, scanner.role]).toEqual(['bath', 'meter', 'scanner'])
    // One connection: the question who it is was sent over it once, and by nobody else.
    expect(there.traffic.filter(({ text: line }) => line.startsWith('*IDN?'))).toHaveLength(1)
    const [temperature, measured] = await Promise.all([
      bath.readTemperature(),
      meter.measure({ input: 2 }),
      scanner.select(4),
    ])
    expect(temperature).toMatchObject({ value: '25.0', marks: [] })
    expect(measured).toMatchObject({ value: '108.2', unit: 'ohm', marks: [] })
    expect(there.heard).toContain('CH4')
    events = 128
    expect((await meter.measure({ input: 2 })).marks).toEqual(['power-cycled'])
    expect((await bath.readTemperature()).marks).toEqual(['power-cycled'])
    // A line typed to one part is held to the limits of all.
    bath.limits = { lowC: 10, highC: 40 }
    await expect(meter.converse('SP=50.0')).rejects.toMatchObject({ code: 'refused' })
    // One of them may go; the others stay.
    await meter.close()
    expect((await bath.readSetpoint()).value).toBe('25.0')
    expect(bath.status.state).toBe('ready')
  })

  it('is the one whose serial number each of them has on the bench, or none of them is there', async () => {
    const right = { 'made-up/reference': '7' }
    there = await madeUp(
      profile,
      (line, say) => line.endsWith('?') && say(line === 'E?' ? '0\n' : '25.0\n'),
      {
        open: false,
        serials: right,
      },
    )
    await there.instrument<Bath>().open()
    expect(there.instrument<Meter>('made-up/reference').status.state).toBe('ready')
    await there.close()
    there = await madeUp(
      profile,
      (line, say) => line.endsWith('?') && say(line === 'E?' ? '0\n' : '25.0\n'),
      {
        open: false,
        serials: { 'made-up/switch': '9' },
      },
    )
    await expect(there.instrument<Bath>().open()).rejects.toMatchObject({
      code: 'wrong-instrument',
      message: expect.stringContaining('serial number 7, the bench says 9'),
    })
  })
})
