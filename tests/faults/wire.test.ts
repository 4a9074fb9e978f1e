import { afterEach, describe, expect, it } from 'vitest'
import { InstrumentError } from '../../app/instruments/faces.ts'
import { isExcluded, type Mark } from '../../app/records/mark.ts'
import type { FaultOrder } from '../../simulator/faults/order.ts'
import { type LabBench, openLab } from '../drivers/lab.ts'
import { expectSent, type Order, readThrough } from './read-through.ts'

let bench: LabBench
afterEach(() => bench.close())

/** The mixed lab over TCP. */
const mixed = async (): Promise<LabBench> => {
  bench = await openLab(7)
  return bench
}

type Case = readonly [kind: FaultOrder['kind'], more: object, marks: readonly Mark[]]

/** What a bridge that is asked three questions per reading shows of each fault. Several marks: any of them. */
const CASES: readonly Case[] = [
  ['silence', {}, ['silent']],
  ['late', { byS: 3.2 }, ['late', 'silent']],
  ['half-line', { keepBytes: 1 }, ['garbled', 'silent']],
  ['garbage', { bytes: 12 }, ['garbled', 'silent']],
  ['nul', {}, ['garbled']],
  ['wrong-terminator', {}, ['garbled', 'silent']],
  ['previous-answer', { times: 3 }, ['garbled', 'silent']],
  ['doubled', {}, ['garbled']],
  ['glued', {}, ['garbled', 'silent']],
  ['echo', {}, ['garbled']],
  ['flood', { bytes: 200_000 }, ['garbled', 'silent']],
  ['over-range', {}, ['over-range']],
  ['not-a-number', {}, ['not-a-number']],
  ['connection-drop', {}, ['silent']],
  ['port-vanish', { forS: 4 }, ['silent']],
  ['power-cut', { forS: 4 }, ['silent', 'power-cycled']],
  ['power-cut', { forS: 4, link: 'lost' }, ['silent', 'power-cycled']],
]

describe.each(['bridge', 'old-bridge', 'meter'])('a fault on the wire of %s', (id) => {
  it.each(CASES)('%s %o is a mark at its time and nothing after it', async (kind, more, marks) => {
    const { readings, faultUs } = await readThrough(await mixed(), id, { kind, ...more } as Order)
    expectSent(readings, bench.traffic.get(id)!)
    const marked = readings.filter((each) => each.marks.some((mark) => mark !== 'gap-before'))
    expect(marked.length).toBeGreaterThan(0)
    // A fault of one reply may hit a reply the bridge gives twice over; it never costs more than its own time.
    const first = marked[0]!
    expect(marks.some((mark) => first.marks.includes(mark))).toBe(true)
    expect(first.at.monoUs).toBeGreaterThanOrEqual(faultUs)
    expect(first.at.monoUs - faultUs).toBeLessThan(12e6)
    for (const each of readings)
      expect(each.value === undefined || !each.marks.includes('garbled')).toBe(true)
    const last = readings.slice(-3)
    expect(last.map((each) => each.marks)).toEqual([[], [], []])
    // What is not excluded lies between its neighbours as a settling thermometer does: nothing was mixed up.
    const values = readings.filter((each) => !isExcluded(each.marks)).map((each) => Number(each.value))
    expect(Math.max(...values) - Math.min(...values)).toBeLessThan(0.6)
  })
})

describe('an error in the queue', () => {
  it('marks the reading and is told in words', async () => {
    const { readings } = await readThrough(await mixed(), 'bridge', {
      kind: 'error-in-queue',
      number: -310,
      text: 'System error',
    } as Order)
    const marked = readings.filter((each) => each.marks.length > 0)
    expect(marked.map((each) => each.marks)).toEqual([['instrument-error']])
    expect(marked[0]!.note).toContain('-310 System error')
  })
})

describe('a power cut', () => {
  it('is found although the link stays up, and what was set is set again before the next reading counts', async () => {
    const { readings } = await readThrough(await mixed(), 'bridge', { kind: 'power-cut', forS: 3 } as Order)
    const back = readings.find((each) => each.marks.includes('power-cycled'))!
    expect(back.value).toBeDefined()
    const traffic = bench.traffic.get('bridge')!
    const before = traffic.filter((line) => line.at.monoUs <= back.at.monoUs && line.direction === 'sent')
    const lastSelect = before.findLastIndex((line) => line.text.startsWith('ROUT:CLOS (@2)'))
    const lastIdentity = before.findLastIndex((line) => line.text.startsWith('*IDN?'))
    expect(lastSelect).toBeGreaterThan(lastIdentity)
  })
})

describe('a command given while the link is away', () => {
  it('is refused, and never sent when the link comes back', async () => {
    bench = await openLab(7)
    const bath = bench.bath('bath')
    await bath.open()
    await bath.setSetpoint(30)
    bench.lab.fault({ kind: 'port-vanish', instrument: 'bath', forS: 20 })
    await bench.clock.sleep(1000)
    for (const celsius of [60, 70, 80]) {
      const refused = await bath.setSetpoint(celsius).catch((error: unknown) => error)
      expect(refused).toBeInstanceOf(InstrumentError)
      expect(refused).toMatchObject({ code: 'lost' })
    }
    await bench.clock.sleep(40_000)
    expect(bath.status.state).toBe('ready')
    const sent = bench.traffic.get('bath')!.filter((line) => line.direction === 'sent')
    expect(sent.filter((line) => /SPO (60|70|80)/.test(line.text))).toEqual([])
    expect((await bath.readSetpoint()).value).toBe('30.000')
  })

  it('is not sent either when it waited behind another one', async () => {
    bench = await openLab(7)
    const bath = bench.bath('bath')
    await bath.open()
    bench.lab.fault({ kind: 'silence', instrument: 'bath', forS: 5 })
    const first = bath.readTemperature()
    const waiting = [70, 80].map((celsius) => bath.setSetpoint(celsius).catch((error: unknown) => error))
    bench.lab.fault({ kind: 'connection-drop', instrument: 'bath', atS: bench.clock.now().monoUs / 1e6 + 1 })
    expect((await first).marks).toContain('silent')
    for (const each of await Promise.all(waiting)) expect(each).toMatchObject({ code: 'lost' })
    await bench.clock.sleep(60_000)
    expect(bath.status.state).toBe('ready')
    const sent = bench.traffic.get('bath')!.filter((line) => line.direction === 'sent')
    expect(sent.filter((line) => /SPO (70|80)/.test(line.text))).toEqual([])
  })
})

describe('an instrument that is away', () => {
  it('does not make its readers spin: readings come no faster than missed answers', async () => {
    bench = await openLab(7)
    const meter = bench.meter('bridge')
    await meter.open()
    bench.lab.fault({ kind: 'port-vanish', instrument: 'bridge', forS: 3600 })
    await bench.clock.sleep(10)
    const startUs = bench.clock.now().monoUs
    for (let i = 0; i < 10; i++) expect((await meter.measure({ input: 1 })).marks).toEqual(['silent'])
    expect(bench.clock.now().monoUs - startUs).toBeGreaterThan(10e6)
  })

  it('keeps no other one waiting', async () => {
    bench = await openLab(7)
    const [one, other] = [bench.meter('bridge'), bench.meter('old-bridge')]
    await Promise.all([one.open(), other.open()])
    bench.lab.fault({ kind: 'silence', instrument: 'bridge', forS: 60 })
    const startUs = bench.clock.now().monoUs
    const silent = one.measure({ input: 1 })
    expect((await other.measure({ input: 1, average: 1 })).marks).toEqual([])
    expect(bench.clock.now().monoUs - startUs).toBeLessThan(2.2e6)
    expect((await silent).marks).toContain('silent')
  })
})

describe('every instrument of the lab', () => {
  it('is opened by its own profile, with the serial number of the bench', async () => {
    bench = await openLab(7)
    for (const spec of bench.lab.bench.instruments) {
      const identity = await bench.instrument(spec.id).open()
      expect(identity.serial).toBe(spec.serial)
      expect(bench.instrument(spec.id).status.state).toBe('ready')
    }
  })
})
