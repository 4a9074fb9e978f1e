import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { Readable } from 'node:stream'
import { afterAll, describe, expect, it } from 'vitest'
import type { Bath } from '../../app/instruments/faces.ts'
import { checkProfile, openInstrument, replayTranscript } from '../../drivers/index.ts'
import { newProfile } from '../../main/host/commands/profile-new.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'
import { startLab } from '../../simulator/lab.ts'

const folder = mkdtempSync(join(tmpdir(), 'stillpoint-new-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

/** Answers for an instrument that is spoken to in lines: the first two are what it is called. */
const inLines = ([title = '', id = '', ...rest]: readonly string[]): string[] => [title, id, '1', ...rest]

/** Answers the questions with these lines; what was said, and the profile that was written, checked and played. */
async function told(name: string, answers: readonly string[]) {
  const path = join(folder, `${name}.json`)
  let said = ''
  const written = await newProfile(
    path,
    (text) => (said += text),
    Readable.from(answers.map((each) => `${each}\n`)),
  )
  if (!written) return { written, said, path }
  const text = readFileSync(path, 'utf8')
  const checked = checkProfile(text, path)
  if (!checked.ok) throw new Error(JSON.stringify(checked.problems))
  const clock = new VirtualClock({ startUtcUs: 0 })
  const differences = await replayTranscript({ profile: checked.profile, source: path, text }, clock)
  clock.stop()
  return { written, said, path, profile: checked.profile, differences }
}

const COMMON = ['2', '1', '2', '', '9600', '5025', '*IDN?']

describe('profile new', () => {
  it('makes a bridge of SCPI with inputs and currents', async () => {
    const { profile, differences, said } = await told(
      'bridge',
      inLines([
        'Ohm bridge of the second floor',
        '',
        '1',
        ...['1', '1', '2', '1', '', '5025', ''],
        'VELDE,OB-2,00417,2.1',
        'READ?',
        '+2.551234E-01 RATIO',
        '8',
        'ROUTe:CLOSe {input}',
        'ROUTe:CLOSe (@{input})',
        'SOURce:CURRent {current}',
        '0.1',
        '0',
        '5',
      ]),
    )
    expect(differences).toEqual([])
    expect(profile).toMatchObject({
      id: 'ohm-bridge-of-the-second-floor',
      role: 'ratio-bridge',
      unit: 'ratio',
      inputs: { count: 8 },
      framing: { send: '\n', receive: '\r\n' },
      link: { tcp: { port: 5025 }, serial: { baud: 9600 } },
      transcript: [{ call: 'open' }, { call: 'measure' }],
    })
    expect(profile!.commands.measure!.answer).toMatchObject({
      pattern: '^(?<value>[+-]\\d+\\.\\d{6}E[+-]\\d{2}) RATIO$',
    })
    expect(profile!.commands.current).toMatchObject({
      risk: 'hazardous',
      parameters: { current: { low: 0.1, high: 5 } },
    })
    // A limit below the other was asked for again, and the caution was said.
    expect(said).toContain('Type a number from 0.1')
    expect(said).toContain('spoils or destroys')
  })

  it('makes a bath in degrees Fahrenheit whose limits are in ours', async () => {
    const { profile, differences } = await told(
      'bath',
      inLines([
        'Bath',
        'oil-bath',
        '4',
        ...COMMON,
        'OILBATH V3',
        '2',
        'S={celsius}',
        '20',
        '200',
        'S?',
        'SET 212,0 F',
        'T?',
        'T1 98.60 F',
        '2',
      ]),
    )
    expect(differences).toEqual([])
    const { commands } = profile!
    expect(commands['set-setpoint']).toMatchObject({
      risk: 'hazardous',
      parameters: { celsius: { low: 20, high: 200 } },
    })
    expect(commands.temperature!.answer).toMatchObject({ pattern: '^T1 (?<value>-?\\d+\\.\\d{2}) F$' })
    expect(commands['read-setpoint']!.answer).toMatchObject({ comma: true, linear: { plus: -32 } })
  })

  it('makes a scanner and a sensor of the air', async () => {
    const scanner = await told(
      'scanner',
      inLines(['Scanner', '', '3', ...COMMON, 'S10', '10', 'close', 'C{input}']),
    )
    expect(scanner).toMatchObject({ differences: [], profile: { role: 'scanner', inputs: { count: 10 } } })
    const air = await told(
      'air',
      inLines(['Air', '', '5', ...COMMON, 'AIR,1', 'A?', 't=21.5;h=45;p=1013.2', '2', '3', '4', '1']),
    )
    expect(air).toMatchObject({
      differences: [],
      profile: {
        quantities: {
          'air-temperature': { group: 'temperature', unit: 'degC' },
          humidity: { group: 'humidity', unit: '%' },
          pressure: { group: 'pressure', unit: 'hPa' },
        },
      },
    })
  })

  it('makes a furnace and a sensor of registers', async () => {
    const type = ['1', '9', '1', '0', '7101']
    const furnace = await told('furnace', [
      'Furnace',
      '',
      '2',
      '1',
      ...type,
      '1',
      // The setpoint, of two registers with the lower part first; the temperature, in tenths.
      ...['0', '5', '2'],
      ...['100', '600'],
      ...['1', '0', '2', '-1'],
    ])
    expect(furnace.profile).toMatchObject({
      role: 'bath',
      identity: { pattern: '^(?<model>7101) \\[[0-9A-F ]+\\]$' },
      registers: {
        type: { table: 'input', address: 9, type: 'uint16' },
        setpoint: { table: 'holding', address: 0, type: 'float32', words: 'low-first' },
        temperature: { table: 'input', address: 0, type: 'int16', power: -1 },
      },
    })
    const order = furnace.profile!.commands['set-setpoint']!
    expect(order).toMatchObject({ risk: 'hazardous', parameters: { celsius: { low: 100, high: 600 } } })
    expect(order.confirm).toMatchObject({ ask: 'read-setpoint', within: 0.00051 })
    expect(furnace.said).toContain('hot enough to burn')
    const air = await told('room', [
      'Room',
      '',
      '2',
      '2',
      ...type,
      '1',
      '1',
      '0',
      '2',
      '-2',
      '2',
      '1',
      '1',
      '1',
      '1',
      '-1',
      '1',
    ])
    expect(air.profile).toMatchObject({
      quantities: { 'air-temperature': { unit: 'degC' }, pressure: { unit: 'hPa' } },
      commands: { 'read-all': { send: 'air-temperature,pressure?' } },
    })
  })

  it('makes a bath of registers with which the lab obeys: identified, read, set, read back and held to its limits', async () => {
    const made = await told('lab-bath', [
      'Bath on Modbus',
      'told-bath',
      '2',
      '1',
      // The first letters of its model, taken for a number that never changes.
      ...['1', '16', '1', '0', String(Buffer.from('TB').readUInt16BE())],
      '1',
      ...['0', '5', '1'],
      ...['-20', '150'],
      ...['1', '0', '5', '1'],
    ])
    const clock = new VirtualClock({ startUtcUs: 1_772_400_000_000_000 })
    const lab = await startLab({ seed: 3, clock, scenario: 'mixed', bus: 'modbus' })
    const spec = lab.bench.instruments.find(({ id }) => id === 'bath')!
    const driver = { profile: made.profile!, source: made.path, text: readFileSync(made.path, 'utf8') }
    const bath = openInstrument({
      // Nothing tells its serial number, so none is expected.
      spec: { ...spec, profile: 'told-bath', serial: undefined },
      clock,
      profiles: { profiles: new Map([['told-bath', driver]]), problems: [] },
    }) as Bath
    expect((await bath.open()).model).toBe('21570')
    expect(Number((await bath.readTemperature()).value)).toBeGreaterThan(0)
    await bath.setSetpoint(31.5)
    expect(Number((await bath.readSetpoint()).value)).toBe(31.5)
    await expect(bath.setSetpoint(151)).rejects.toMatchObject({ code: 'refused' })
    expect(Number((await bath.readSetpoint()).value)).toBe(31.5)
    await bath.close()
    await lab.close()
    clock.stop()
  })

  it('writes nothing where the answers end, and nothing over a file that is there', async () => {
    const short = await told('short', ['Bath', '', '4'])
    expect(short).toMatchObject({ written: false, said: expect.stringContaining('Nothing was written') })
    const again = await told('scanner', inLines(['Scanner', '', '3', ...COMMON, 'S10', '10', 'C{input}']))
    expect(again).toMatchObject({ written: false, said: expect.stringContaining('exists already') })
  })
})
