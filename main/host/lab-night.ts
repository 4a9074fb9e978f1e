import { asTold, said } from '../../app/messages/said.ts'
import type { Plan } from '../../app/records/plan.ts'
import type { CellSubstance } from '../../simulator/scenarios/fixed-point.ts'
import type { Scenario } from '../../simulator/scenarios/scenario.ts'
import type { Station } from '../station/station.ts'
import { StationError } from '../station/station-error.ts'
import { LAB_PLAN } from './lab-desk.ts'

/** How long each cell is recorded: heating up, a melt, and a freeze where there is one, h. */
const CELL_HOURS: Readonly<Record<CellSubstance, number>> = { H2O: 2.5, Ga: 3, In: 3.2, Sn: 4.5, Zn: 7 }
/** All of a bridge's resistors and pairs, several times over, h. */
const BRIDGE_HOURS = 1.5

/** For how long a scenario that compares nothing is recorded, h; undefined where a plan is run on it. */
export function recordingHours({ cells, thermometers }: Scenario): number | undefined {
  const substance = cells[0]?.substance as CellSubstance | undefined
  if (substance !== undefined) return CELL_HOURS[substance]
  return thermometers.some(({ role }) => role === 'reference') ? undefined : BRIDGE_HOURS
}

/** Rounds of remedies before a plan is given up. */
const ROUNDS = 5

/**
 * The lab's plan with the preview's own remedies taken, so that it suits a bench of any size. Throws StationError 'refused'
 * with the preview's words where they do not help.
 */
export function planFor(station: Station): { plan: Plan; accept: readonly string[] } {
  let plan = LAB_PLAN
  for (let round = 0; round < ROUNDS; round++) {
    const { checks } = station.preview(plan)
    const stops = checks.filter(({ severity }) => severity === 'stop')
    if (stops.length === 0) return { plan, accept: checks.map(({ id }) => id) }
    for (const { words, help } of stops) {
      if (help?.kind === 'window') {
        plan = { ...plan, settling: { ...plan.settling, windowS: help.windowS } }
      } else if (help?.kind === 'wait') plan = { ...plan, maxWaitS: help.maxWaitS }
      else if (help?.kind === 'leave-out') {
        const setpoints = plan.setpoints.filter(({ celsius }) => celsius !== help.celsius)
        plan = { ...plan, setpoints }
      } else throw new StationError('refused', asTold(words))
    }
  }
  throw new StationError('refused', said('no-plan-suits', {}))
}
