import { afterEach, describe, expect, it } from 'vitest'
import type { HostileCase } from '../../simulator/hostile/cases.ts'
import { type Bench, virtualLab } from './bench-client.ts'

const open: Bench[] = []
afterEach(async () => {
  for (const bench of open.splice(0)) await bench.end()
})

/** What is true after ten minutes in a laboratory of one case, and what the bridge shows of a thermometer. */
async function tenMinutes(hostile?: HostileCase) {
  const bench = await virtualLab({ seed: 6, ...(hostile && { hostile }) })
  open.push(bench)
  const [bridge, scanner] = await Promise.all(['bridge', 'scanner'].map((id) => bench.client(id)))
  await scanner!.ask('ROUT:CLOS (@102);*OPC?\n')
  await bench.clock.sleep(600_000)
  const { truth } = bench.lab
  return {
    shown: Number((await bridge!.ask('INIT;FETC?\n')).split(/[ ,]/)[0]),
    place: truth.temperatureAt('prt-1031'),
    resistor: truth.resistorOhm('resistor-100'),
  }
}

describe('a hostile laboratory on the wire', () => {
  it('is the laboratory itself where nothing is ordered', async () => {
    expect(await tenMinutes('none')).toEqual(await tenMinutes())
  })

  it('moves what its case names and leaves the rest', async () => {
    const calm = await tenMinutes()
    const apart = await tenMinutes('gradient-larger')
    expect(Math.abs(apart.place - calm.place)).toBeGreaterThan(1e-5)
    expect(apart.resistor).toBe(calm.resistor)
    const leak = await tenMinutes('leak-item')
    expect(leak.place).toBe(calm.place)
    // 1e-5 to 2e-4 of the resistance runs past the thermometer.
    expect(leak.shown / calm.shown).toBeLessThan(1 - 5e-6)
    expect(leak.shown / calm.shown).toBeGreaterThan(1 - 3e-4)
    const warm = await tenMinutes('resistor-temperature')
    expect(Math.abs(warm.resistor / calm.resistor - 1)).toBeGreaterThan(2e-7)
  })
})
