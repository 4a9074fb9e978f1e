import { afterEach, describe, expect, it } from 'vitest'
import type { Meter } from '../../../app/instruments/faces.ts'
import { openInstrument } from '../../../drivers/open.ts'
import { burstMeter } from '../../../drivers/written/burst-meter.ts'
import { type LabBench, openLab } from '../lab.ts'

let bench: LabBench
afterEach(() => bench.close())

describe.each(['hislip', 'vxi-11', 'usbtmc'] as const)('instruments over %s', (bus) => {
  it('are identified, measure, switch and set a bath', async () => {
    bench = await openLab(3, undefined, bus)
    const bridge = bench.meter('bridge')
    const { model } = await bridge.open()
    expect(model).toBe('RB-8')
    const measured = await bridge.measure({ input: 2, currentMa: 1, average: 2 })
    expect(measured.marks).toEqual([])
    expect(Number(measured.value)).toBeGreaterThan(0.1)
    const scanner = bench.scanner('scanner')
    await scanner.open()
    await scanner.select(3)
    const bath = bench.bath('bath')
    await bath.open()
    await bath.setSetpoint(31.5)
    expect((await bath.readSetpoint()).value).toBe('31.500')
    await expect(bath.setSetpoint(1000)).rejects.toThrow(/outside the limits/)
  })

  it('are cleared and identified after a timeout, and the late answer is never taken', async () => {
    bench = await openLab(3, undefined, bus)
    const bridge = bench.meter('bridge')
    await bridge.open()
    await bridge.measure({ input: 2, currentMa: 1, average: 1 })
    // By then the thermometer behind the newly closed contact has come to rest.
    await bench.clock.sleep(600_000)
    const first = await bridge.measure({ input: 2, currentMa: 1, average: 1 })
    bench.lab.fault({ instrument: 'bridge', kind: 'late-packet', byS: 6 })
    const missed = await bridge.measure({ input: 2, currentMa: 1, average: 1 })
    expect(missed.value).toBeUndefined()
    expect(missed.marks).toContain('silent')
    const told = () => bench.traffic.get('bridge')!.map(({ text }) => text)
    const after = []
    for (let i = 0; i < 12; i++) {
      after.push(await bridge.measure({ input: 2, currentMa: 1, average: 1 }))
      await bench.clock.sleep(1000)
    }
    expect(told()).toContain('device clear')
    expect(told().some((text) => /thrown away by its (message id|transaction id|tag)/.test(text))).toBe(true)
    for (const each of after) {
      expect(each.marks).toEqual([])
      expect(Number(each.value)).toBeCloseTo(Number(first.value), 3)
    }
  })
})

describe.each(['hislip', 'vxi-11', 'usbtmc'] as const)('a trigger of a profile over %s', (bus) => {
  it("goes out as the bus's own, in its turn, and starts what was armed", async () => {
    bench = await openLab(5, undefined, bus)
    const { id } = burstMeter.profile
    const spec = bench.lab.bench.instruments.find((each) => each.id === 'meter')!
    const meter = openInstrument({
      spec: { ...spec, profile: id },
      clock: bench.clock,
      profiles: { profiles: new Map([[id, burstMeter]]), problems: [] },
    }) as Meter
    const said: string[] = []
    meter.onTraffic(({ direction, text }) => said.push(`${direction} ${text}`))
    await meter.open()
    await bench.scanner('old-scanner').open()
    await bench.scanner('old-scanner').select(1)
    const measured = await meter.measure({ input: 1 })
    expect(measured.marks).toEqual([])
    expect(Number(measured.value)).toBeGreaterThan(50)
    expect(said.filter((line) => line === "note as the bus's own trigger")).toHaveLength(5)
    // What the instrument does not know as an order it would have kept in its error queue.
    expect(await meter.converse('SYST:ERR?')).toMatch(/^\+?0,/)
    await meter.close()
  })
})

describe('a bath over Modbus', () => {
  it('is read back after each setting, and what is outside its limits is never sent', async () => {
    bench = await openLab(3, undefined, 'modbus')
    const bath = bench.bath('bath')
    await bath.open()
    await bath.setSetpoint(31.5)
    await expect(bath.setSetpoint(1000)).rejects.toThrow(/outside the limits/)
    const said = bench.traffic
      .get('bath')!
      .map(({ direction, text }) => `${direction} ${text.replace('\\x0A', '')}`)
    const at = said.indexOf('sent setpoint 31.500')
    expect(said.slice(at, at + 4)).toEqual([
      'sent setpoint 31.500',
      'received written',
      'sent setpoint?',
      'received 31.5 [41FC 0000]',
    ])
    expect(said.filter((line) => /^sent setpoint \S/.test(line))).toHaveLength(1)
  })
})
