import { demo } from './demo.ts'
import { quiet } from './quiet.ts'
import type { Scenario, ScenarioName } from './scenario.ts'

/** The scenarios by name. */
export const SCENARIOS: Readonly<Record<ScenarioName, Scenario>> = { demo, quiet }
