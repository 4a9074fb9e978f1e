import { bridgeCheck } from './bridge-check.ts'
import { cells } from './cells.ts'
import { demo } from './demo.ts'
import { fixedPoint } from './fixed-point.ts'
import { kinds } from './kinds.ts'
import { mixed } from './mixed.ts'
import { quiet } from './quiet.ts'
import type { Scenario, ScenarioName } from './scenario.ts'
import { wide } from './wide.ts'

/** The scenarios by name. */
export const SCENARIOS: Readonly<Record<ScenarioName, Scenario>> = {
  demo,
  quiet,
  wide,
  mixed,
  kinds,
  'fixed-point': fixedPoint('In'),
  'cell-H2O': fixedPoint('H2O'),
  'cell-Ga': fixedPoint('Ga'),
  'cell-In': fixedPoint('In'),
  'cell-Sn': fixedPoint('Sn'),
  'cell-Zn': fixedPoint('Zn'),
  cells,
  'bridge-check': bridgeCheck,
}
