import type { Clock } from '../../app/base/clock.ts'
import type { AnyInstrument, Bath, Meter, Scanner, TrafficLine } from '../../app/instruments/faces.ts'
import { loadProfiles, openInstrument } from '../../drivers/index.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'
import { type Lab, type LabOptions, startLab } from '../../simulator/lab.ts'

const profiles = await loadProfiles()

/** The whole lab, and its instruments as their profiles describe them, not opened yet, with their traffic kept. */
export interface LabBench {
  readonly clock: Clock
  readonly lab: Lab
  readonly traffic: ReadonlyMap<string, TrafficLine[]>
  instrument(id: string): AnyInstrument
  meter(id: string): Meter
  scanner(id: string): Scanner
  bath(id: string): Bath
  close(): Promise<void>
}

/** On a virtual clock and TCP, or the bus that is named; with a clock given, on that and on serial ports. */
export async function openLab(
  seed = 1,
  steady?: Clock,
  bus: LabOptions['bus'] = steady === undefined ? 'tcp' : 'serial',
): Promise<LabBench> {
  const virtual = steady === undefined ? new VirtualClock({ startUtcUs: 1_772_400_000_000_000 }) : undefined
  const clock = steady ?? virtual!
  const lab = await startLab({ seed, clock, scenario: 'mixed', bus })
  const traffic = new Map<string, TrafficLine[]>()
  const instruments = new Map<string, AnyInstrument>()
  for (const spec of lab.bench.instruments) {
    const instrument = openInstrument({ spec, clock, profiles, random: () => 0.5 })
    const lines: TrafficLine[] = []
    traffic.set(spec.id, lines)
    instrument.onTraffic((line) => lines.push(line))
    instruments.set(spec.id, instrument)
  }
  const find = (id: string) => instruments.get(id)!
  return {
    clock,
    lab,
    traffic,
    instrument: find,
    meter: (id) => find(id) as Meter,
    scanner: (id) => find(id) as Scanner,
    bath: (id) => find(id) as Bath,
    close: async () => {
      for (const instrument of instruments.values()) await instrument.close()
      await lab.close()
      virtual?.stop()
    },
  }
}
