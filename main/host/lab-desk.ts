import type { Clock } from '../../app/base/clock.ts'
import type { Settings } from '../../app/contract/settings.ts'
import { Plan } from '../../app/records/plan.ts'
import type { Lab, LabOptions } from '../../simulator/lab.ts'
import { SCENARIO_NAMES, type ScenarioName } from '../../simulator/scenarios/scenario.ts'
import type { StationStore } from '../store/station-store.ts'

/** The invented laboratory in whose name the lab in a box works. */
export const LAB_LABORATORY: Settings['laboratory'] = {
  name: 'Quennick Temperature Laboratory',
  address: ['Tidewater Lane 4', 'Quennick'],
  country: 'IE',
}

/** A night's work on the lab in a box: five setpoints within the range of everything on its bench. */
export const LAB_PLAN = Plan.parse({
  id: 'lab-night',
  name: 'Overnight comparison, 15 °C to 95 °C',
  setpoints: [15, 35, 55, 75, 95].map((celsius) => ({ celsius })),
  settling: { windowS: 900, driftMkPerMin: 1, spreadMk: 3, bandK: 0.2, holdS: 900, adaptive: 2 },
  order: 'symmetric',
  cycles: 4,
})

export function isScenario(name: string): name is ScenarioName {
  return SCENARIO_NAMES.some((known) => known === name)
}

/** Whom the ledger names for what the lab files. */
const LAB = 'lab in a box'

/** Whether the register has a thing already that the lab of this seed filed. */
function isKnown(store: StationStore, id: string, seed: number): boolean {
  const filed = store.ledger({ subject: id }).find(({ who }) => who === LAB)
  return filed?.why.endsWith(`seed ${seed}`) ?? false
}

/** Starts a lab beside the station and files its bench, its paperwork and its plan. */
export async function placeLab(
  store: StationStore,
  clock: Clock,
  options: Pick<LabOptions, 'seed' | 'scenario' | 'bus' | 'hostile'>,
): Promise<Lab> {
  // A station on instruments of its own never loads it.
  const { startLab } = await import('../../simulator/lab.ts')
  const lab = await startLab({ clock, ...options })
  const why = `${LAB}, seed ${options.seed}`
  const { thermometers, resistors, instruments, fluids, baths = [] } = lab.paperwork
  // The same seed is the same laboratory: what was found out about its things since stays.
  const isNew = ({ id }: { id: string }) => !isKnown(store, id, options.seed)
  for (const entry of thermometers.filter(isNew)) store.saveThermometer(entry, LAB, why)
  for (const entry of resistors.filter(isNew)) store.saveResistor(entry, LAB, why)
  for (const entry of instruments.filter(isNew)) store.saveInstrument(entry, LAB, why)
  for (const entry of fluids.filter(isNew)) store.saveFluid(entry, LAB, why)
  for (const entry of baths.filter(isNew)) store.saveBath(entry, LAB, why)
  store.saveBench(lab.bench, LAB, why)
  if ((options.scenario ?? 'demo') === 'demo') store.savePlan(LAB_PLAN, LAB, why)
  return lab
}
