import { connect } from 'node:net'
import { describe, expect, it } from 'vitest'
import { Bench } from '../../app/records/bench.ts'
import { Register } from '../../app/records/register.ts'
import { portsFrom } from '../../simulator/ports.ts'
import { SCENARIOS } from '../../simulator/scenarios/index.ts'
import { SCENARIO_NAMES } from '../../simulator/scenarios/scenario.ts'
import { type RawClient, virtualLab } from './bench-client.ts'

/** Two channels of the demo bench, measured as a station would. */
async function someReadings(seed: number, lookAroundS = 0): Promise<string[]> {
  const bench = await virtualLab({ seed })
  const [bridge, scanner, bath] = await Promise.all(
    ['bridge', 'scanner', 'bath'].map((id) => bench.client(id)),
  )
  bath!.tell('SOUR:TEMP:SPO 50;:OUTP ON\n')
  await bath!.ask('*OPC?\n')
  const texts: string[] = []
  for (let i = 0; i < 6; i += 1) {
    await scanner!.ask(`ROUT:CLOS (@10${(i % 4) + 1});*OPC?\n`)
    for (let s = 0; s < 60; s += lookAroundS || 60) {
      await bench.clock.sleep((lookAroundS || 60) * 1000)
      if (lookAroundS) bench.lab.truth.temperatureAt('prt-1031')
    }
    texts.push(await bridge!.ask('INIT;FETC?\n'))
  }
  await bench.end()
  return texts
}

describe('startLab', () => {
  it('gives the same readings for the same seed and commands, whoever looks on', async () => {
    const first = await someReadings(11)
    expect(await someReadings(11)).toEqual(first)
    expect(await someReadings(11, 7.5)).toEqual(first)
    expect(await someReadings(12)).not.toEqual(first)
  })

  for (const scenario of SCENARIO_NAMES) {
    it(`brings a bench and register entries of the right shape in scenario ${scenario}`, async () => {
      const { lab, end } = await virtualLab({ scenario })
      expect(() => Bench.parse(lab.bench)).not.toThrow()
      expect(Register.parse(lab.paperwork)).toEqual(lab.paperwork)
      const instruments = new Set(lab.endpoints.map(({ id }) => id))
      const thermometers = new Set(lab.paperwork.thermometers.map(({ id }) => id))
      const resistors = new Set(lab.paperwork.resistors.map(({ id }) => id))
      for (const channel of lab.bench.channels) {
        expect(instruments).toContain(channel.instrument)
        for (const { scanner } of channel.route) expect(instruments).toContain(scanner)
        if (channel.thermometer !== undefined) expect(thermometers).toContain(channel.thermometer)
        if (channel.reference?.kind === 'resistor') expect(resistors).toContain(channel.reference.resistor)
      }
      for (const { id } of lab.endpoints)
        expect(lab.paperwork.instruments.map((entry) => entry.id)).toContain(id)
      await end()
    })
  }

  it('reaches all 96 thermometers of the wide bench, each by its own way, within the range of its bridge', async () => {
    const { lab, clock, client, end } = await virtualLab({ scenario: 'wide' })
    expect(lab.bench.channels).toHaveLength(96)
    const clients = new Map<string, RawClient>()
    const to = async (id: string) => {
      if (!clients.has(id)) clients.set(id, await client(id))
      return clients.get(id)!
    }
    const seen = new Set<string>()
    for (const channel of lab.bench.channels) {
      for (const { scanner, input } of channel.route) {
        const box = await to(scanner)
        expect(await box.ask(`ROUT:CLOS (@${100 + input});CLOS? (@${100 + input})\n`)).toBe('1\r\n')
      }
      const bridge = await to(channel.instrument)
      await bridge.ask(`ROUT:CLOS (@${channel.input});*OPC?\n`)
      await clock.sleep(channel.settleMs)
      const ratio = Number(await bridge.ask('READ?\n'))
      // At room temperature each thermometer shows its own R0: no two alike, and platinum of 25.5 or 100 ohm.
      const nominal = lab.paperwork.thermometers.find(({ id }) => id === channel.thermometer)!.nominalOhm!
      expect((ratio * 100) / nominal).toBeGreaterThan(1.08)
      expect((ratio * 100) / nominal).toBeLessThan(1.1)
      seen.add(ratio.toFixed(7))
    }
    expect(seen.size).toBe(96)
    await end()
  })

  it('shows a ratio that follows from truth: Rx at the place over Rs, within noise and self-heating', async () => {
    const { lab, clock, client, end } = await virtualLab()
    const bridge = await client('bridge')
    bridge.tell('ROUT:CLOS (@2);:SOUR:CURR 1E-5;:SENS:AVER:COUN 40\n')
    await clock.sleep(60_000)
    const shown = Number(await bridge.ask('READ?\n'))
    const truth = lab.truth.thermometers.get('thermistor-4408')!.curve
    if (truth.kind !== 'steinhart-hart') throw new Error('a thermistor expected')
    const ln = Math.log(shown * lab.truth.resistorOhm('resistor-10k'))
    const [a, b, c] = truth.coefficients
    const celsius = 1 / (a + b * ln + c * ln ** 3) - 273.15
    expect(Math.abs(celsius - lab.truth.temperatureAt('thermistor-4408'))).toBeLessThan(0.004)
    await end()
  })

  it('lets contacts settle after a scanner has switched', async () => {
    const { clock, client, end } = await virtualLab()
    const [bridge, scanner] = [await client('bridge'), await client('scanner')]
    const steps: number[] = []
    for (let i = 0; i < 24; i += 1) {
      await scanner.ask(`ROUT:CLOS (@10${2 + (i % 2)});*OPC?\n`)
      const early = Number(await bridge.ask('READ?\n'))
      await clock.sleep(6000)
      steps.push(Math.abs(early / Number(await bridge.ask('READ?\n')) - 1))
    }
    const mean = steps.reduce((a, b) => a + b, 0) / steps.length
    expect(mean).toBeGreaterThan(3e-6)
    expect(mean).toBeLessThan(4e-5)
    await end()
  })

  it('cools a thermometer that waits without keep-warm current', async () => {
    const { lab, clock, client, end } = await virtualLab()
    const scanner = await client('scanner')
    const warmth = () => lab.truth.elementOf('prt-1031') - lab.truth.temperatureAt('prt-1031')
    const mean = async () => {
      let sum = 0
      for (let i = 0; i < 200; i += 1) {
        await clock.sleep(5000)
        sum += warmth()
      }
      return sum / 200
    }
    await scanner.ask('ROUT:CLOS (@101);*OPC?\n')
    const cold = await mean()
    await scanner.ask('SOUR:CURR:KEEP 1 MA,(@102);*OPC?\n')
    const warm = await mean()
    // Stated self-heating 1.5 mK at 1 mA, true within a tenth of it or two.
    expect(warm - cold).toBeGreaterThan(1.1e-3)
    expect(warm - cold).toBeLessThan(2.1e-3)
    await end()
  })

  it('serves one client at a time', async () => {
    const { lab, client, end } = await virtualLab()
    const first = await client('bridge')
    const link = lab.endpoints[0]!.link
    if (link.kind !== 'tcp') throw new Error('TCP expected')
    await new Promise<void>((resolve) => connect(link.port, link.host).once('close', () => resolve()))
    expect(await first.ask('*OPC?\n')).toBe('1\n')
    await end()
  })

  it('listens on loopback only and on nothing any more once it is closed', async () => {
    const { lab, end } = await virtualLab()
    for (const { link } of lab.endpoints) expect(link.kind === 'tcp' && link.host).toBe('127.0.0.1')
    const link = lab.endpoints[0]!.link
    await end()
    if (link.kind !== 'tcp') throw new Error('TCP expected')
    const code = await new Promise((resolve) => {
      connect(link.port, link.host).once('error', (error) => resolve('code' in error && error.code))
    })
    expect(code).toBe('ECONNREFUSED')
  })

  it('says which port is taken and closes what it had opened', async () => {
    const first = await virtualLab()
    const link = first.lab.endpoints[2]!.link
    if (link.kind !== 'tcp') throw new Error('TCP expected')
    await expect(virtualLab({ ports: { bath: link.port } })).rejects.toThrow(/EADDRINUSE/)
    await first.end()
  })
})

describe('portsFrom', () => {
  it('gives each model its own port and further ones what follows', () => {
    expect(portsFrom(5301, SCENARIOS.demo)).toEqual({ bridge: 5301, scanner: 5303, bath: 5305, air: 5308 })
    const wide = Object.values(portsFrom(5301, SCENARIOS.wide))
    expect(new Set(wide).size).toBe(wide.length)
  })
})
