import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { openSessionFile, type SessionFile } from '../../main/store/session-file.ts'
import { sketchOf } from '../../main/study/session-sketch.ts'
import { type Box, openBox } from '../station/box.ts'

let box: Box
let file: SessionFile

beforeAll(async () => {
  box = await openBox({
    scenario: 'quiet',
    faults: [{ kind: 'port-vanish', instrument: 'bridge', atS: 600, forS: 600 }],
  })
  const id = await box.station.record({ operator: 'Test' })
  await box.clock.sleep(1_800_000)
  box.station.stop('Test', 'enough')
  await box.station.finished
  file = openSessionFile(box.store.sessionPath(id), { mode: 'read' })
})
afterAll(async () => {
  file.close()
  await box.close()
})

describe('sketchOf', () => {
  it('shows the temperature of the reference, with a hole where nothing was measured', () => {
    const sketch = sketchOf(file)
    expect(sketch.length).toBeGreaterThan(50)
    expect(sketch.length).toBeLessThanOrEqual(200)
    const known = sketch.filter((value) => value !== null)
    // The bath of the lab rests near the room's temperature until it is told to do otherwise.
    expect(Math.min(...known)).toBeGreaterThan(15)
    expect(Math.max(...known)).toBeLessThan(30)
    const dark = sketch.flatMap((value, i) => (value === null ? [i / sketch.length] : []))
    expect(dark.length / sketch.length).toBeGreaterThan(0.25)
    expect(Math.min(...dark)).toBeGreaterThan(0.3)
    expect(Math.max(...dark)).toBeLessThan(0.8)
    expect(dark.length).toBe(Math.round((Math.max(...dark) - Math.min(...dark)) * sketch.length) + 1)
  })

  it('shows the shape by raw values where a resistor of the bench had no calibration on the day', () => {
    const { setup } = file
    const register = {
      ...setup.register,
      resistors: setup.register.resistors.map((one) => ({ ...one, calibrations: [] })),
    }
    const lacking = new Proxy(file, {
      get: (of, name) => {
        if (name === 'setup') return { ...setup, register }
        const value: unknown = Reflect.get(of, name, of)
        return typeof value === 'function' ? (value.bind(of) as unknown) : value
      },
    })
    const known = sketchOf(lacking).filter((value) => value !== null)
    expect(known.length).toBeGreaterThan(20)
    // Ratios of a 25 ohm thermometer to a resistor, no temperatures.
    expect(Math.max(...known)).toBeLessThan(5)
  })
})
