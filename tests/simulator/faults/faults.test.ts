import { connect } from 'node:net'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { OrderedFault } from '../../../simulator/faults/apply.ts'
import { FaultError, type FaultOrder } from '../../../simulator/faults/order.ts'
import { negatedSum } from '../../../simulator/instruments/checksums.ts'
import { type Bench, type RawClient, virtualLab } from '../bench-client.ts'

let bench: Bench
let bridge: RawClient
const IDN = 'QUENNICK,RB-8,0817,1.3\n'

beforeEach(async () => {
  bench = await virtualLab({ scenario: 'mixed' })
  bridge = await bench.client('bridge')
})
afterEach(() => bench.end())

/** What arrives within 3 s of the lab's time after asking for the identity. */
async function reply(waitMs = 3000): Promise<string> {
  bridge.received = ''
  bridge.tell('*IDN?\n')
  await bench.clock.sleep(waitMs)
  const got = bridge.received
  bridge.received = ''
  return got
}

/** Distributes over a union, so that each kind keeps its own parameters. */
type Short<O> = O extends unknown ? Omit<O, 'instrument'> : never
const order = (fault: Short<FaultOrder>): OrderedFault =>
  bench.lab.fault({ instrument: 'bridge', ...fault } as FaultOrder)!

const ratio = async () => Number(await bridge.ask('READ?\n'))

describe('faults of replies', () => {
  it('silence: answers nothing, once, for some replies, or for some time', async () => {
    const once = order({ kind: 'silence' })
    expect([await reply(), await reply()]).toEqual(['', IDN])
    expect(once.record.hits).toHaveLength(1)
    order({ kind: 'silence', times: 2 })
    expect([await reply(), await reply(), await reply()]).toEqual(['', '', IDN])
    const timed = order({ kind: 'silence', forS: 10 })
    expect([await reply(), await reply()]).toEqual(['', ''])
    await bench.clock.sleep(5000)
    expect(await reply()).toBe(IDN)
    expect(timed.record.endedMonoUs! - timed.record.startedMonoUs).toBe(10e6)
  })

  it('late: the same answer, so much later', async () => {
    order({ kind: 'late', byS: 2 })
    bridge.tell('*IDN?\n')
    await bench.clock.sleep(1990)
    expect(bridge.received).toBe('')
    await bench.clock.sleep(20)
    expect(bridge.received).toBe(IDN)
  })

  it('late: never for a client that came after the one that asked', async () => {
    order({ kind: 'late', byS: 5 })
    bridge.tell('*IDN?\n')
    await bench.clock.sleep(100)
    bridge.socket.destroy()
    await bench.clock.sleep(100)
    bridge = await bench.client('bridge')
    await bench.clock.sleep(10_000)
    expect(bridge.received).toBe('')
  })

  it('half-line: a beginning without terminator', async () => {
    order({ kind: 'half-line', keepBytes: 5 })
    expect(await reply()).toBe('QUENN')
    order({ kind: 'half-line' })
    expect(await reply()).toBe(IDN.slice(0, 11))
  })

  it('garbage: bytes that are not the answer', async () => {
    order({ kind: 'garbage', bytes: 40 })
    const got = await reply()
    expect(got).toHaveLength(40)
    expect(got).not.toContain('QUENNICK')
  })

  it('bit-flip: one bit is another', async () => {
    order({ kind: 'bit-flip' })
    const got = await reply()
    const apart = [...got].map((c, i) => c.charCodeAt(0) ^ IDN.charCodeAt(i)).filter((x) => x !== 0)
    expect(apart).toHaveLength(1)
    expect(Math.log2(apart[0]!) % 1).toBe(0)
  })

  it('nul, doubled, echo, wrong-terminator, decimal-comma: as they say', async () => {
    order({ kind: 'nul' })
    expect(await reply()).toBe(`\0${IDN.trim()}\0\n`)
    order({ kind: 'doubled' })
    expect(await reply()).toBe(IDN + IDN)
    order({ kind: 'echo' })
    expect(await reply()).toBe(`*IDN?\n${IDN}`)
    order({ kind: 'wrong-terminator' })
    expect(await reply()).toBe(`${IDN.trim()}\r`)
    order({ kind: 'wrong-terminator', terminator: ';' })
    expect(await reply()).toBe(`${IDN.trim()};`)
    order({ kind: 'decimal-comma' })
    expect(await reply()).toBe(IDN.replace('1.3', '1,3'))
  })

  it('previous-answer: what was asked before', async () => {
    await bridge.ask('SYST:VERS?\n')
    order({ kind: 'previous-answer' })
    expect(await reply()).toBe('1999.0\n')
  })

  it('glued: kept back and stuck to the next answer', async () => {
    order({ kind: 'glued' })
    expect(await reply()).toBe('')
    expect(await reply()).toBe(IDN.trim() + IDN)
  })

  it('flood: megabytes without a terminator', async () => {
    order({ kind: 'flood', bytes: 2_000_000 })
    bridge.tell('*IDN?\n')
    await bridge.take(2_000_000)
    expect(await reply()).toBe(IDN)
  })
})

describe('faults of values', () => {
  it('over-range and not-a-number: the special numbers', async () => {
    order({ kind: 'over-range' })
    expect(await bridge.ask('READ?\n')).toBe('+9.9E+37\n')
    order({ kind: 'not-a-number', times: 2 })
    expect(await bridge.ask('READ?\n')).toBe('+9.91E+37\n')
    expect(await bridge.ask('READ?\n')).toBe('+9.91E+37\n')
    bridge.tell('ROUT:CLOS (@2)\n')
    await bench.clock.sleep(5000)
    expect(await ratio()).toBeGreaterThan(0.5)
  })

  it('jump, drift and stuck: of one thermometer where it is named', async () => {
    bridge.tell('ROUT:CLOS (@2)\n')
    await bench.clock.sleep(60_000)
    const before = await ratio()
    const elsewhere = order({ kind: 'jump', by: 0.5, thermometer: 'prt-1031' })
    expect(await ratio()).toBeCloseTo(before, 4)
    expect(elsewhere.record.hits).toHaveLength(0)
    const jump = order({ kind: 'jump', by: 0.01, thermometer: 'thermistor-4408' })
    expect((await ratio()) - before).toBeCloseTo(0.01, 4)
    jump.end()
    const drift = order({ kind: 'drift', perHour: 1 })
    await bench.clock.sleep(360_000)
    expect((await ratio()) - before).toBeGreaterThan(0.09)
    drift.end()
    const stuck = order({ kind: 'stuck' })
    const frozen = [await ratio(), await ratio(), await ratio()]
    expect(new Set(frozen).size).toBe(1)
    stuck.end()
    expect(await ratio()).not.toBe(frozen[0])
    expect(stuck.record.hits).toHaveLength(3)
  })

  it('unit-swap: another unit behind the value, and a checksum that still fits', async () => {
    const meter = await bench.client('meter')
    bench.lab.fault({ instrument: 'meter', kind: 'unit-swap' })
    expect(await meter.ask('INIT;FETC?\n')).toMatch(/ KOHM\n$/)
    expect(await meter.ask('INIT;FETC?\n')).toMatch(/ OHM\n$/)
    const air = await bench.client('air')
    bench.lab.fault({ instrument: 'air', kind: 'unit-swap' })
    const [, text, sum] = /(ES-1.*)\*(..)/.exec(await air.until('\x03'))!
    expect(text).toMatch(/\d\dF,/)
    expect(negatedSum(text!)).toBe(sum)
  })

  it('reach the bath controller and the older instruments in their own words', async () => {
    const bath = await bench.client('bath')
    bench.lab.fault({ instrument: 'bath', kind: 'over-range' })
    expect(await bath.ask('SENS:TEMP?\n')).toBe('9.9E+37\n')
    const old = await bench.client('old-bath')
    bench.lab.fault({ instrument: 'old-bath', kind: 'not-a-number' })
    expect(await old.ask('PV?\r')).toBe('ERR 5 SENSOR\r\n')
  })
})

describe('faults of the instrument', () => {
  it('error-in-queue: an error nobody caused', async () => {
    order({ kind: 'error-in-queue', number: -363, text: 'Input buffer overrun' })
    expect(await bridge.ask('SYST:ERR?\n')).toBe('-363,"Input buffer overrun"\n')
  })

  it('error-in-queue: not possible where there is no queue', () => {
    const impossible = () =>
      bench.lab.fault({ instrument: 'air', kind: 'error-in-queue', number: 1, text: 'x' })
    expect(impossible).toThrow(FaultError)
  })

  it('connection-drop: broken, and open again at once, with its settings', async () => {
    bridge.tell('SENS:AVER:COUN 6\n')
    await bench.clock.sleep(10)
    const dropped = order({ kind: 'connection-drop' })
    await bridge.gone()
    bridge = await bench.client('bridge')
    expect(await bridge.ask('SENS:AVER:COUN?\n')).toBe('6\n')
    expect(dropped.record.endedMonoUs).toBeDefined()
  })

  it('port-vanish: refused until it comes back on the same port', async () => {
    const link = bench.lab.endpoints.find(({ id }) => id === 'bridge')!.link
    if (link.kind !== 'tcp') throw new Error('TCP expected')
    order({ kind: 'port-vanish', forS: 20 })
    await bridge.gone()
    const refused = await new Promise((resolve) => {
      connect(link.port, link.host).once('error', (error) => resolve('code' in error && error.code))
    })
    expect(refused).toBe('ECONNREFUSED')
    await bench.clock.sleep(21_000)
    bridge = await bench.client('bridge')
    expect(await reply()).toBe(IDN)
  })

  it('power-cut with the link kept: silent, then power-on and lost settings on the same connection', async () => {
    await bridge.ask('*ESR?\n')
    bridge.tell('SENS:AVER:COUN 6;:ROUT:CLOS (@2)\n')
    order({ kind: 'power-cut', forS: 8 })
    expect(await reply()).toBe('')
    await bench.clock.sleep(6000)
    expect(await bridge.ask('*ESR?;SENS:AVER:COUN?;:ROUT:CLOS:STAT?\n')).toBe('128;1;(@1)\n')
  })

  it('power-cut with the link lost: the port goes and comes back', async () => {
    order({ kind: 'power-cut', forS: 8, link: 'lost' })
    await bridge.gone()
    await bench.clock.sleep(9000)
    bridge = await bench.client('bridge')
    expect(await bridge.ask('*ESR?\n')).toBe('128\n')
  })

  it('power-cut of the bath controller: output off and setpoint lost', async () => {
    const bath = await bench.client('bath')
    bath.tell('SOUR:TEMP:SPO 80;:OUTP ON\n')
    await bench.clock.sleep(60_000)
    bench.lab.fault({ instrument: 'bath', kind: 'power-cut', forS: 2 })
    await bench.clock.sleep(3000)
    expect(await bath.ask('OUTP?;:SOUR:TEMP:SPO?\n')).toBe('0;25.000\n')
  })
})

describe('faults of the bath', () => {
  it('sensor-fault: not a number, output off, questionable; gone when it is over', async () => {
    const bath = await bench.client('bath')
    bath.tell('SOUR:TEMP:SPO 40;:OUTP ON\n')
    await bench.clock.sleep(5000)
    bench.lab.fault({ instrument: 'bath', kind: 'sensor-fault', forS: 60 })
    await bench.clock.sleep(2000)
    expect(await bath.ask('SENS:TEMP?;:OUTP?;:STAT:QUES:COND?\n')).toBe('9.91E+37;0;16\n')
    bath.tell('OUTP ON\n')
    expect(await bath.ask('SYST:ERR?\n')).toBe('-240,"Hardware error"\n')
    await bench.clock.sleep(60_000)
    expect(await bath.ask('SENS:TEMP?\n')).toMatch(/^2\d\.\d{3}\n$/)
  })

  it('runaway-heater: the cut-out trips, and is taken back only when it has cooled', async () => {
    const bath = await bench.client('bath')
    bath.tell('SOUR:TEMP:SPO 40;:OUTP ON\n')
    bench.lab.fault({ instrument: 'bath', kind: 'runaway-heater', forS: 3600 })
    await bench.clock.sleep(3000_000)
    expect(await bath.ask('OUTP:PROT:TRIP?;:STAT:QUES:COND?\n')).toBe('1;16\n')
    await bench.clock.sleep(2 * 3600_000)
    expect(await bath.ask('OUTP:PROT:CLE;TRIP?\n')).toBe('0\n')
  })

  it('relay-stuck: what is read back is what is connected', async () => {
    const scanner = await bench.client('scanner')
    await scanner.ask('ROUT:CLOS (@101);*OPC?\n')
    const stuck = bench.lab.fault({ instrument: 'scanner', kind: 'relay-stuck' })!
    expect(await scanner.ask('ROUT:CLOS (@102);CLOS? (@102);CLOS:STAT?\n')).toBe('0;(@101)\r\n')
    stuck.end()
    expect(await scanner.ask('ROUT:CLOS (@102);CLOS? (@102)\n')).toBe('1\r\n')
    const old = await bench.client('old-scanner')
    bench.lab.fault({ instrument: 'old-scanner', kind: 'relay-stuck', forS: 1 })
    expect(await old.ask('C07*44\r', '\r')).toMatch(/^N5\*/)
    expect(() => bench.lab.fault({ instrument: 'air', kind: 'relay-stuck' })).toThrow(/has no contacts/)
  })

  it('is refused for an instrument that controls none', () => {
    expect(() => bench.lab.fault({ instrument: 'bridge', kind: 'no-cooling' })).toThrow(/controls no bath/)
  })
})

describe('a script of faults', () => {
  it('acts at its times and is logged with them', async () => {
    await bench.end()
    bench = await virtualLab({
      faults: [
        { atS: 60, instrument: 'bridge', kind: 'silence', forS: 30 },
        { atS: 120, instrument: 'bath', kind: 'connection-drop' },
      ],
    })
    bridge = await bench.client('bridge')
    const bath = await bench.client('bath')
    await bench.clock.sleep(59_000)
    expect(await reply(500)).toBe(IDN)
    await bench.clock.sleep(10_000)
    expect(await reply(500)).toBe('')
    await bench.clock.sleep(60_000)
    expect(await reply(500)).toBe(IDN)
    expect(bath.closed).toBe(true)
    const [silence, drop] = bench.lab.truth.faults
    expect([silence!.startedMonoUs, silence!.endedMonoUs, drop!.startedMonoUs]).toEqual([60e6, 90e6, 120e6])
    expect(silence!.startedUtcUs - silence!.startedMonoUs).toBe(Date.UTC(2026, 2, 1, 20) * 1000)
  })

  it('is refused as a whole when it names an instrument the lab has not', async () => {
    await expect(virtualLab({ faults: [{ atS: 5, instrument: 'kettle', kind: 'silence' }] })).rejects.toThrow(
      /no instrument is called kettle; this lab has bridge/,
    )
  })
})
