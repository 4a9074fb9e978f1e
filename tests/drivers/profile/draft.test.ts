import { describe, expect, it } from 'vitest'
import { checkProfile, tellProblem } from '../../../drivers/profile/check.ts'
import { draftLines, type LinesDraft } from '../../../drivers/profile/draft.ts'
import { draftRegisters, type RegistersDraft } from '../../../drivers/profile/draft-registers.ts'
import { numbersIn } from '../../../drivers/profile/example.ts'
import type { ProfileText } from '../../../drivers/profile/schema.ts'

const lines = (does: LinesDraft['does'], more: Partial<LinesDraft> = {}): ProfileText =>
  draftLines({
    ...{ id: 'own', title: 'Own', language: 'plain', send: '\r', receive: '\r\n', echo: false },
    ...{ identity: { send: '*IDN?', answer: 'VELDE,M1,7,1' }, does },
    ...more,
  })
const question = (send: string, answer: string, which = 0) => ({
  send,
  answer,
  at: numbersIn(answer)[which]!,
})
const problemsOf = (text: ProfileText) => {
  const result = checkProfile(JSON.stringify(text), 'x.json')
  return result.ok ? [] : result.problems.map(tellProblem)
}
const bath = (scale: 'degC' | 'degF' | 'K', answer: string) =>
  lines({
    ...{ role: 'bath', scale, set: { send: 'S {celsius}', low: -20, high: 150 } },
    ...{ setpoint: question('S?', answer), temperature: question('T?', '25.0013') },
  })

describe('draftLines', () => {
  it.each([
    ['25', 0, 0.51],
    ['25.0', 1, 0.051],
    ['+25,00 C', 2, 0.0051],
    ['25.000', 3, 0.00051],
  ])(
    'takes a setpoint read back as %s to within half of its last place and what rounding leaves',
    (answer, places, within) => {
      const profile = bath('degC', answer)
      expect(profile.commands['set-setpoint']).toMatchObject({
        risk: 'hazardous',
        parameters: { celsius: { unit: 'degC', low: -20, high: 150, decimals: places } },
        confirm: { ask: 'read-setpoint', parameter: 'celsius', within },
      })
      expect(problemsOf(profile)).toEqual([])
    },
  )

  it('holds limits and tolerance in degrees Celsius whatever scale the instrument has', () => {
    const fahrenheit = bath('degF', '77.00')
    expect(fahrenheit.commands['set-setpoint']).toMatchObject({
      parameters: { celsius: { decimals: 2, linear: { plus: -32, times: 5, over: 9 } } },
      // Half of 0.01 degF is 0.00278 degC.
      confirm: { within: 0.00283 },
    })
    const kelvin = bath('K', '298.15')
    expect(kelvin.commands['set-setpoint']).toMatchObject({
      parameters: { celsius: { linear: { plus: -273.15 } } },
      confirm: { within: 0.0051 },
    })
    expect(kelvin.commands.temperature!.answer).toMatchObject({ linear: { plus: -273.15 }, unit: 'degC' })
    expect(bath('degC', '25.0').commands.temperature!.answer).not.toHaveProperty('linear')
    expect(fahrenheit.about).toMatch(/^CAUTION: /)
    for (const profile of [fahrenheit, kelvin]) expect(problemsOf(profile)).toEqual([])
  })

  it('writes what was told of the line, and echoes only where they always come', () => {
    const does = { role: 'meter', unit: 'ohm', measure: question('R?', 'R 100.02 ohm') } as const
    const bare = lines(does)
    expect(bare.link).toEqual({})
    expect(bare.framing).toEqual({ send: '\r', receive: '\r\n' })
    expect(bare.transcript!.map((each) => each.lines)).toEqual([
      ['> *IDN?\r', '< VELDE,M1,7,1\r\n'],
      ['> R?\r', '< R 100.02 ohm\r\n'],
    ])
    const told = lines(does, { tcpPort: 5025, baud: 9600, echo: true })
    expect(told.link).toEqual({ tcp: { port: 5025 }, serial: { baud: 9600 } })
    expect(told.framing).toEqual({ send: '\r', receive: '\r\n', echo: true })
    expect(told.transcript![1]!.lines).toEqual(['> R?\r', '< R?\r\n', '< R 100.02 ohm\r\n'])
    const sometimes = lines(does, { echo: 'sometimes' })
    expect(sometimes.framing).toMatchObject({ echo: 'sometimes' })
    expect(sometimes.transcript).toEqual(bare.transcript)
    expect(
      lines({ ...does, measure: question('MEASure:RESistance?', '1.5') }, { language: 'scpi' })
        .transcript![1]!.lines![0],
    ).toBe('> MEAS:RES?\r')
    for (const profile of [bare, told, sometimes]) expect(problemsOf(profile)).toEqual([])
  })

  it('gives a meter its inputs and current where they were told, and no example of an input that is not known', () => {
    const measure = question('R?', '100,02')
    const whole = lines({
      ...{ role: 'ratio-bridge', unit: 'ratio', measure },
      ...{ inputs: { count: 4, select: 'I {input}' }, current: { send: 'C {current}', low: 0.1, high: 5 } },
    })
    expect(whole.inputs).toEqual({ count: 4 })
    expect(whole.capabilities).toEqual({
      measure: ['measure'],
      'select-input': ['select'],
      'set-current': ['current'],
    })
    expect(whole.commands.current).toMatchObject({
      risk: 'hazardous',
      parameters: { current: { unit: 'mA', low: 0.1, high: 5 } },
    })
    expect(whole.commands.measure!.answer).toMatchObject({ unit: 'ratio', comma: true })
    const byQuestion = lines({
      ...{ role: 'meter', unit: 'ohm', measure: question('R? {input}', '100.02'), inputs: { count: 2 } },
    })
    expect(byQuestion.capabilities).toEqual({ measure: ['measure'] })
    expect(byQuestion.commands.measure!.answer).not.toHaveProperty('comma')
    expect(byQuestion.transcript).toHaveLength(1)
    const scanner = lines({ role: 'scanner', count: 8, select: 'I {input}' })
    expect(scanner.inputs).toEqual({ count: 8 })
    expect(scanner.capabilities).toEqual({ select: ['select'] })
    for (const profile of [whole, byQuestion, scanner]) expect(problemsOf(profile)).toEqual([])
  })

  it('finds each value of the room where it stands in the answer, in whatever order, and leaves out what is not there', () => {
    const answer = 'H=45.2 % T=+21.30 C p=1013.2 hPa (ok)'
    const [humidity, temperature, pressure] = numbersIn(answer)
    const values = { 'air-temperature': temperature, humidity, pressure }
    const told = { role: 'environment', send: 'ALL?', answer, pressureUnit: 'hPa' } as const
    const room = lines({ ...told, values })
    expect(room.quantities).toEqual({
      'air-temperature': { group: 'temperature', unit: 'degC' },
      humidity: { group: 'humidity', unit: '%' },
      pressure: { group: 'pressure', unit: 'hPa' },
    })
    const { pattern } = room.commands['read-all']!.answer as { pattern: string }
    const found = (text: string) => ({ ...new RegExp(pattern).exec(text)?.groups })
    expect(found('H=7.0 % T=-1.25 C p=998.7 hPa (ok)')).toEqual({
      humidity: '7.0',
      temperature: '-1.25',
      pressure: '998.7',
    })
    expect(found('H=7.0 % T=-1.25 C p=998.7 hPa (ok) ')).toEqual({})
    expect(found('H=7.0 % T=-1.2 C p=998.7 hPa (ok)')).toEqual({})
    const dry = lines({ ...told, values: { ...values, humidity: undefined } })
    expect(Object.keys(dry.quantities!)).toEqual(['air-temperature', 'pressure'])
    for (const profile of [room, dry]) expect(problemsOf(profile)).toEqual([])
  })
})

describe('draftRegisters', () => {
  const type = { table: 'holding', address: 0, type: 'uint16' } as const
  const furnace = (scale: 'degC' | 'degF' | 'K', setpoint: object): ProfileText => {
    const does = { role: 'bath', scale, setpoint: { ...type, address: 1, ...setpoint }, low: 0, high: 900 }
    const temperature = { ...type, address: 2 }
    return draftRegisters({
      ...{ id: 'own', title: 'Own', identity: { register: type, value: '17' } },
      does: { ...does, temperature } as RegistersDraft['does'],
    })
  }

  it.each([
    ['degC', {}, 0, 0.51],
    ['degC', { power: -1 }, 1, 0.051],
    ['degC', { power: 1 }, 0, 0.51],
    ['degF', { power: -1 }, 1, 0.0283],
    ['K', { type: 'float32' }, 3, 0.00051],
  ] as const)(
    'sets a furnace in %s with %o to %i places, and takes what is within half a step',
    (scale, setpoint, decimals, within) => {
      const profile = furnace(scale, setpoint)
      expect(profile.commands['set-setpoint']).toMatchObject({
        risk: 'hazardous',
        parameters: { celsius: { unit: 'degC', low: 0, high: 900, decimals } },
        confirm: { ask: 'read-setpoint', parameter: 'celsius', within },
      })
      expect(problemsOf(profile)).toEqual([])
    },
  )

  it('reads of a room the registers that were told', () => {
    const room = draftRegisters({
      ...{ id: 'own', title: 'Own', identity: { register: type, value: '17' } },
      does: {
        ...{ role: 'environment', pressureUnit: 'Pa' },
        values: { humidity: { ...type, address: 1 }, pressure: { ...type, address: 2 } },
      },
    })
    expect(room.quantities).toEqual({
      humidity: { group: 'humidity', unit: '%' },
      pressure: { group: 'pressure', unit: 'Pa' },
    })
    expect(room.commands['read-all']!.send).toBe('humidity,pressure?')
    expect(problemsOf(room)).toEqual([])
  })
})
