import type { AnyInstrument, Bath, Meter, Scanner, TrafficLine } from '../../app/instruments/faces.ts'
import { loadProfiles, openInstrument } from '../../drivers/index.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'
import { type Lab, startLab } from '../../simulator/lab.ts'

const profiles = await loadProfiles()

/** The whole lab on a virtual clock, and its instruments opened by their profiles, with their traffic kept. */
export interface LabBench {
  readonly clock: VirtualClock
  readonly lab: Lab
  readonly traffic: ReadonlyMap<string, TrafficLine[]>
  instrument(id: string): AnyInstrument
  meter(id: string): Meter
  scanner(id: string): Scanner
  bath(id: string): Bath
  close(): Promise<void>
}

export async function openLab(seed = 1, serial = false): Promise<LabBench> {
  // A pair of ports goes through another process, so quiet has to be longer there.
  const clock = new VirtualClock({ startUtcUs: 1_772_400_000_000_000, quietMs: serial ? 25 : 0 })
  const lab = await startLab({ seed, clock, scenario: 'mixed', serial })
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
      clock.stop()
    },
  }
}
