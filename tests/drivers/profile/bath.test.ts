import { afterEach, describe, expect, it } from 'vitest'
import type { Bath } from '../../../app/instruments/faces.ts'
import { type LabBench, openLab } from '../lab.ts'

let bench: LabBench
afterEach(() => bench.close())

async function openBath(id: string): Promise<{ bath: Bath; setpointsSent: () => string[] }> {
  bench = await openLab(4)
  const bath = bench.bath(id)
  await bath.open()
  const lines = bench.traffic.get(id)!
  return {
    bath,
    setpointsSent: () =>
      lines
        .filter((line) => line.direction === 'sent' && /SPO \S|SP=/.test(line.text))
        .map((line) => line.text),
  }
}

describe.each([
  ['bath', 'SOUR:TEMP:SPO 70'],
  ['old-bath', 'SP=70,00'],
])('the limits of %s', (id, typed) => {
  it('hold for callers and for typed lines, and nothing outside is sent', async () => {
    const { bath, setpointsSent } = await openBath(id)
    bath.limits = { lowC: 10, highC: 60 }
    for (const celsius of [9.99, 60.01, 70, -300, 1e9, Number.NaN, Number.POSITIVE_INFINITY]) {
      await expect(bath.setSetpoint(celsius)).rejects.toMatchObject({ code: 'refused' })
    }
    await expect(bath.converse(typed)).rejects.toMatchObject({ code: 'refused' })
    expect(setpointsSent()).toEqual([])
    await bath.setSetpoint(60)
    await bath.setSetpoint(10)
    expect(setpointsSent()).toHaveLength(2)
    bath.limits = { lowC: 10, highC: 80 }
    await bath.converse(typed)
    expect(Number((await bath.readSetpoint()).value)).toBe(70)
  })

  it('can be narrowed, never widened beyond the profile', async () => {
    const { bath } = await openBath(id)
    bath.limits = { lowC: -500, highC: 5000 }
    expect(bath.limits).toEqual({ lowC: -20, highC: 150 })
    expect(() => {
      bath.limits = { lowC: 50, highC: 40 }
    }).toThrow(/leave no setpoint/)
  })
})

describe('setSetpoint', () => {
  it('is confirmed by reading back: what the controller kept decides', async () => {
    const { bath } = await openBath('bath')
    await bath.setSetpoint(29.7646)
    expect((await bath.readSetpoint()).value).toBe('29.765')
    bench.lab.fault({ kind: 'previous-answer', instrument: 'bath' })
    await expect(bath.setSetpoint(45)).rejects.toMatchObject({
      code: expect.stringMatching(/not-confirmed|garbled/),
    })
  })

  it('does not count where the controller was switched off and on meanwhile, though it reads back', async () => {
    const { bath, setpointsSent } = await openBath('bath')
    bench.lab.fault({ kind: 'power-cut', instrument: 'bath', forS: 1, link: 'kept' })
    await bench.clock.sleep(3000)
    await expect(bath.setSetpoint(80)).rejects.toMatchObject({
      code: 'not-confirmed',
      message: expect.stringContaining('switched off and on'),
    })
    expect(setpointsSent()).toHaveLength(1)
    expect((await bath.readSetpoint()).value).toBe('80.000')
    // Said once: the next order is a new one.
    await bath.setSetpoint(79)
  })

  it('is not repeated by itself after a power cut', async () => {
    const { bath, setpointsSent } = await openBath('bath')
    await bath.setSetpoint(80)
    bench.lab.fault({ kind: 'power-cut', instrument: 'bath', forS: 3 })
    await bench.clock.sleep(5000)
    const readings = []
    for (let i = 0; i < 4; i++) readings.push(await bath.readSetpoint())
    expect(readings.flatMap((each) => each.marks)).toContain('power-cycled')
    expect(readings.at(-1)).toMatchObject({ value: '25.000', marks: [] })
    expect(setpointsSent()).toHaveLength(1)
  })
})

describe('converse', () => {
  it('answers questions and tells the errors of what was typed, which mark no reading afterwards', async () => {
    const { bath } = await openBath('bath')
    expect(await bath.converse('SYST:VERS?')).toBe('1999.0')
    expect(await bath.converse('OUTP ON')).toBeUndefined()
    await expect(bath.converse('NONSENSE?')).rejects.toMatchObject({ code: 'silent' })
    expect((await bath.readTemperature()).marks).toEqual([])
    await expect(bath.converse('NONSENSE 5')).rejects.toMatchObject({ code: 'refused' })
  })

  it('waits for the prompt of an instrument that has one', async () => {
    bench = await openLab(4)
    const bridge = bench.meter('old-bridge')
    await bridge.open()
    expect(await bridge.converse('CH')).toMatch(/^CH=0\*[0-9A-F]{2}$/)
    expect(await bridge.converse('CH 2')).toBeUndefined()
    await expect(bridge.converse('CU 9')).rejects.toMatchObject({ code: 'refused' })
  })

  it('says that a talker cannot be asked', async () => {
    bench = await openLab(4)
    const sensor = bench.instrument('air')
    await sensor.open()
    await expect(sensor.converse('ANY?')).rejects.toThrow(/only talks/)
  })
})
