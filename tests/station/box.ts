import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import pino from 'pino'
import { Plan } from '../../app/records/plan.ts'
import { loadProfiles, openInstrument } from '../../drivers/index.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'
import { Station } from '../../main/station/station.ts'
import { openStationStore, type StationStore } from '../../main/store/station-store.ts'
import type { LabBus } from '../../simulator/buses/lab-buses.ts'
import { type Lab, type LabOptions, startLab } from '../../simulator/lab.ts'

/** 2026-03-01T18:00:00Z, microseconds: the evening a test's night begins. */
export const EVENING_US = Date.UTC(2026, 2, 1, 18) * 1000

/** A lab, a data folder and a station on one virtual clock, in one process, over real TCP. */
export interface Box {
  readonly clock: VirtualClock
  readonly lab: Lab
  readonly folder: string
  store: StationStore
  station: Station
  /** Closes the station and opens another on the same folder, as a restart does. */
  restart(): Promise<Station>
  close(): Promise<void>
}

export interface BoxOptions {
  readonly seed?: number
  readonly scenario?: LabOptions['scenario']
  readonly faults?: LabOptions['faults']
  readonly bus?: LabBus
  readonly folder?: string
  readonly logLevel?: string
}

const profiles = await loadProfiles()

export async function openBox(options: BoxOptions = {}): Promise<Box> {
  const clock = new VirtualClock({ startUtcUs: EVENING_US })
  const lab = await startLab({
    seed: options.seed ?? 1,
    clock,
    ...(options.scenario && { scenario: options.scenario }),
    ...(options.faults && { faults: options.faults }),
    ...(options.bus && { bus: options.bus }),
  })
  const folder = options.folder ?? mkdtempSync(join(tmpdir(), 'stillpoint-'))
  const open = () => {
    const store = openStationStore(folder, { clock })
    if (store.benches().length === 0) fill(store, lab)
    const station = new Station({
      folder,
      clock,
      clockKind: 'virtual',
      store,
      profileTexts: () => ({}),
      openInstrument: (spec) => openInstrument({ spec, clock, profiles, random: () => 0.5 }),
      log: pino({ level: options.logLevel ?? 'silent' }),
      program: 'Stillpoint',
      programVersion: '0.1.0',
    })
    return { store, station }
  }
  const box: Box = {
    clock,
    lab,
    folder,
    ...open(),
    async restart() {
      await box.station.close()
      box.store.close()
      Object.assign(box, open())
      return box.station
    },
    async close() {
      await box.station.close()
      box.store.close()
      await lab.close()
      clock.stop()
      if (options.folder === undefined) rmSync(folder, { recursive: true })
    },
  }
  return box
}

function fill(store: StationStore, lab: Lab): void {
  for (const entry of lab.paperwork.thermometers) store.saveThermometer(entry, 'test', '')
  for (const entry of lab.paperwork.resistors) store.saveResistor(entry, 'test', '')
  for (const entry of lab.paperwork.instruments) store.saveInstrument(entry, 'test', '')
  for (const entry of lab.paperwork.fluids) store.saveFluid(entry, 'test', '')
  for (const entry of lab.paperwork.baths ?? []) store.saveBath(entry, 'test', '')
  store.saveBench(lab.bench, 'test', '')
}

export function planOf(celsius: readonly number[], more: Partial<Plan> = {}): Plan {
  return Plan.parse({
    id: 'night',
    name: 'A night',
    setpoints: celsius.map((c) => ({ celsius: c })),
    settling: { windowS: 600, driftMkPerMin: 1, spreadMk: 6, bandK: 0.2, holdS: 300 },
    order: 'symmetric',
    cycles: 3,
    ...more,
  })
}
