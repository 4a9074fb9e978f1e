import { afterEach, describe, expect, it } from 'vitest'
import { isExcluded, type Mark } from '../../app/records/mark.ts'
import type { FaultOrder } from '../../simulator/faults/order.ts'
import { type LabBench, openLab } from '../drivers/lab.ts'
import { expectSent, type Order, readThrough } from './read-through.ts'

let bench: LabBench
afterEach(() => bench.close())

type Case = readonly [kind: FaultOrder['kind'], more: object, marks: readonly Mark[]]

/** What a bridge on a bus shows of each fault; none: the bus itself makes it harmless. Several marks: any of them. */
const CASES: readonly Case[] = [
  ['silence', {}, ['silent']],
  ['late', { byS: 3.2 }, ['late', 'silent']],
  ['half-line', { keepBytes: 1 }, ['garbled', 'silent']],
  ['garbage', { bytes: 12 }, ['garbled', 'silent']],
  ['doubled', {}, ['garbled']],
  ['previous-answer', { times: 3 }, ['garbled', 'silent']],
  ['flood', { bytes: 200_000 }, ['garbled', 'silent']],
  ['lost-packet', {}, ['silent']],
  ['half-packet', {}, ['silent']],
  ['doubled-packet', { times: 4 }, []],
  ['late-packet', { byS: 3.2 }, ['late', 'silent']],
  ['late-packet', { byS: 9, times: 2 }, ['silent']],
  ['wrong-id', {}, ['silent']],
  ['link-drop', {}, ['silent']],
  ['locked-by-other', { forS: 5 }, ['silent']],
  ['service-requests', { count: 3000 }, []],
  ['connection-drop', {}, ['silent']],
  ['port-vanish', { forS: 4 }, ['silent']],
  ['power-cut', { forS: 4 }, ['silent', 'power-cycled']],
  ['power-cut', { forS: 4, link: 'lost' }, ['silent', 'power-cycled']],
]

const STALL: Case = ['stall', {}, ['silent']]

describe.each(['hislip', 'vxi-11', 'usbtmc'] as const)('a fault on %s', (bus) => {
  it.each(bus === 'usbtmc' ? [...CASES, STALL] : CASES)(
    '%s %o is a mark at its time and nothing after it',
    async (kind, more, marks) => {
      bench = await openLab(7, undefined, bus)
      const { readings, faultUs } = await readThrough(bench, 'bridge', { kind, ...more } as Order)
      expectSent(readings, bench.traffic.get('bridge')!)
      const marked = readings.filter((each) => each.marks.some((mark) => mark !== 'gap-before'))
      if (marks.length === 0) expect(marked).toEqual([])
      else {
        const first = marked[0]!
        expect(marks.some((mark) => first.marks.includes(mark))).toBe(true)
        expect(first.at.monoUs).toBeGreaterThanOrEqual(faultUs)
        expect(first.at.monoUs - faultUs).toBeLessThan(12e6)
      }
      expect(readings.slice(-3).map((each) => each.marks)).toEqual([[], [], []])
      // What is not excluded lies between its neighbours as a settling thermometer does: nothing was mixed up.
      const values = readings.filter((each) => !isExcluded(each.marks)).map((each) => Number(each.value))
      expect(Math.max(...values) - Math.min(...values)).toBeLessThan(0.6)
    },
  )

  it('is not needed: without one every reading is as over TCP', async () => {
    const values: (string | undefined)[][] = []
    for (const way of ['tcp', bus] as const) {
      bench = await openLab(7, undefined, way)
      const { readings } = await readThrough(bench, 'bridge', undefined, 6)
      values.push(readings.map(({ value }) => value))
      if (way === 'tcp') await bench.close()
    }
    expect(values[1]).toEqual(values[0])
  })

  it('names the lock of another program, and goes on once it is given back', async () => {
    bench = await openLab(7, undefined, bus)
    bench.lab.fault({ kind: 'locked-by-other', instrument: 'bath', forS: 20 })
    const bath = bench.bath('bath')
    await expect(bath.open()).rejects.toMatchObject({ code: 'refused' })
    expect(bath.status.words).toMatch(/(locked|held) by another program.* Trying again/)
    await bench.clock.sleep(60_000)
    expect(bath.status.state).toBe('ready')
  })

  it('sends no command after a link comes back that was given before', async () => {
    bench = await openLab(7, undefined, bus)
    const bath = bench.bath('bath')
    await bath.open()
    await bath.setSetpoint(30)
    bench.lab.fault({ kind: 'silence', instrument: 'bath', forS: 5 })
    const first = bath.readTemperature()
    const waiting = [70, 80].map((celsius) => bath.setSetpoint(celsius).catch((error: unknown) => error))
    bench.lab.fault({ kind: 'link-drop', instrument: 'bath', atS: bench.clock.now().monoUs / 1e6 + 1 })
    expect((await first).marks).toContain('silent')
    for (const each of await Promise.all(waiting)) expect(each).toMatchObject({ code: 'lost' })
    await bench.clock.sleep(60_000)
    expect(bath.status.state).toBe('ready')
    expect((await bath.readSetpoint()).value).toBe('30.000')
  })
})

describe('a fault that only a bus can have', () => {
  it('is refused on a plain line', async () => {
    bench = await openLab(7)
    expect(() => bench.lab.fault({ kind: 'wrong-id', instrument: 'bridge' })).toThrow(/not on a bus/)
  })
})
