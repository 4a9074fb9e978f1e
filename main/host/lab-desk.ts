import type { Settings } from '../../app/contract/settings.ts'
import type { Clock } from '../../app/records/clock.ts'
import { Plan } from '../../app/records/plan.ts'
import { type Lab, startLab } from '../../simulator/lab.ts'
import { SCENARIOS } from '../../simulator/scenarios/index.ts'
import type { Scenario, ScenarioName } from '../../simulator/scenarios/scenario.ts'
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
  name: 'Overnight comparison, 15 to 95 degC',
  setpoints: [15, 35, 55, 75, 95].map((celsius) => ({ celsius })),
  settling: { windowS: 900, driftMkPerMin: 1, spreadMk: 3, bandK: 0.2, holdS: 900, adaptive: 2 },
  order: 'symmetric',
  cycles: 4,
})

export function isScenario(name: string): name is ScenarioName {
  return Object.hasOwn(SCENARIOS, name)
}

/** Starts a lab beside the station and files its bench, its paperwork and its plan. */
export async function placeLab(
  store: StationStore,
  clock: Clock,
  options: { seed: number; scenario?: ScenarioName | Scenario; serial?: boolean },
): Promise<Lab> {
  const lab = await startLab({ clock, ...options })
  const why = `lab in a box, seed ${options.seed}`
  const { thermometers, resistors, instruments, fluids } = lab.paperwork
  for (const entry of thermometers) store.saveThermometer(entry, 'lab in a box', why)
  for (const entry of resistors) store.saveResistor(entry, 'lab in a box', why)
  for (const entry of instruments) store.saveInstrument(entry, 'lab in a box', why)
  for (const entry of fluids) store.saveFluid(entry, 'lab in a box', why)
  store.saveBench(lab.bench, 'lab in a box', why)
  if ((options.scenario ?? 'demo') === 'demo') store.savePlan(LAB_PLAN, 'lab in a box', why)
  return lab
}
