import { Bench, type LinkSpec } from '../../app/records/bench.ts'
import type { Terminal } from '../physics/circuit.ts'
import type { InstrumentDesign, Scenario } from '../scenarios/scenario.ts'
import { bathEntryId, JUNCTION_KNOWN_K } from './register.ts'

type Meter = Extract<InstrumentDesign, { kind: 'rb-8' | 'rb-3' | 'dm-7' }>
type Scanner = Extract<InstrumentDesign, { kind: 'cs-16' | 'cs-32' }>

/** How deep a thermometer hangs in the bath, mm. */
const IMMERSION_MM = { sprt: 280, prt: 220, thermistor: 180, thermocouple: 300 } as const

interface Way {
  instrument: string
  input: number
  route: { scanner: string; input: number }[]
  resistor: string | undefined
}

/** How the wiring leads from a bridge or meter to a thermometer or a network. */
function wayTo(target: string, scenario: Scenario): Way | undefined {
  const scanners = new Map<string, Scanner>()
  const meters: Meter[] = []
  for (const design of scenario.instruments) {
    if (design.kind === 'cs-16' || design.kind === 'cs-32') scanners.set(design.id, design)
    else if (design.kind === 'rb-8' || design.kind === 'rb-3' || design.kind === 'dm-7') meters.push(design)
  }
  const below = (terminal: Terminal, depth: number): Way['route'] | undefined => {
    if (!('switch' in terminal)) {
      const id = 'network' in terminal ? terminal.network : terminal.thermometer
      return id === target ? [] : undefined
    }
    const scanner = scanners.get(terminal.switch)
    if (!scanner || depth > 8) return undefined
    for (const [input, next] of Object.entries(scanner.inputs)) {
      const rest = below(next, depth + 1)
      if (rest) return [{ scanner: scanner.id, input: Number(input) }, ...rest]
    }
    return undefined
  }
  for (const meter of meters) {
    for (const [input, terminal] of Object.entries(meter.inputs)) {
      const route = below(terminal, 0)
      if (!route) continue
      const resistor = 'resistors' in meter ? meter.resistors[Number(input)] : undefined
      return { instrument: meter.id, input: Number(input), route, resistor }
    }
  }
  return undefined
}

/** A meter on which nothing but thermocouples hangs. */
function measuresVoltage(meter: string, scenario: Scenario): boolean {
  const kinds = scenario.channels
    .filter((c) => wayTo(c.thermometer ?? c.network ?? '', scenario)?.instrument === meter)
    .map((c) => scenario.thermometers.find(({ id }) => id === c.thermometer)?.kind)
  return kinds.length > 0 && kinds.every((kind) => kind === 'thermocouple')
}

/** The bench as a metrologist would set it up for this scenario. */
export function readyBench(scenario: Scenario, links: ReadonlyMap<string, LinkSpec>): Bench {
  const controller = scenario.instruments.find(
    (design) => 'bath' in design && design.bath === scenario.bench.bath,
  )
  const { fluid, lowC, highC, safeC, uniformityMk, stabilityMk, scanEveryS } = scenario.bench
  return Bench.parse({
    id: `lab-${scenario.name}`,
    name: scenario.title,
    instruments: scenario.instruments.map((design) => ({
      id: design.id,
      name: `${design.kind.toUpperCase()} ${design.serial}`,
      profile: measuresVoltage(design.id, scenario) ? `lab-${design.kind}-voltage` : `lab-${design.kind}`,
      link: links.get(design.id),
      serial: design.serial,
      register: design.id,
    })),
    channels: scenario.channels.map((channel) => {
      const target = channel.thermometer ?? channel.network ?? ''
      const design = scenario.thermometers.find(({ id }) => id === channel.thermometer)
      const network = scenario.networks?.find(({ id }) => id === channel.network)
      const way = wayTo(target, scenario)
      if (!(design ?? network) || !way) throw new Error(`channel ${channel.id}: no wire leads to ${target}`)
      return {
        id: channel.id,
        name: channel.name ?? design?.name ?? network?.name,
        role: design?.role ?? 'monitor',
        instrument: way.instrument,
        input: way.input,
        route: way.route,
        ...(design && { thermometer: design.id }),
        ...(way.resistor ? { reference: { kind: 'resistor', resistor: way.resistor } } : {}),
        ...(design?.kind === 'thermocouple'
          ? { junction: { kind: 'fixed', celsius: 0, uK: JUNCTION_KNOWN_K } }
          : {}),
        currentMa: channel.currentMa ?? design?.currentMa,
        ...(channel.keepWarmMa === undefined ? {} : { keepWarmMa: channel.keepWarmMa }),
        ...(design && scenario.bench.bath !== undefined && { immersionMm: IMMERSION_MM[design.kind] }),
        settleMs: channel.settleMs,
        ...(channel.discard === undefined ? {} : { discard: channel.discard }),
        average: channel.average,
        readings: channel.readings ?? 1,
      }
    }),
    ...(scenario.bench.bath !== undefined && {
      bath: {
        ...(controller ? { instrument: controller.id } : {}),
        name: scenario.bench.bath,
        register: bathEntryId(scenario),
        ...(fluid === 'silicone' ? { fluid: 'silicone-20' } : {}),
        lowC,
        highC,
        safeC,
        uniformityMk,
        stabilityMk,
      },
    }),
    scanEveryS,
  })
}
