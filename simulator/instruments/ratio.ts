import type { FaultDesk } from '../faults/desk.ts'
import type { Circuit, Switch } from '../physics/circuit.ts'
import type { RatioElectronics } from '../physics/electronics.ts'
import type { ResistorBody } from '../physics/resistor.ts'

export interface RatioPath {
  circuit: Circuit
  inputs: Switch
  electronics: RatioElectronics
  resistors: ReadonlyMap<number, ResistorBody>
  desk: FaultDesk
  currentA: number
}

/** The ratio a bridge shows for what its input reaches; NaN with an open circuit, infinite beyond its range. */
export function ratioSeen(path: RatioPath, fromS: number, toS: number, singles: number): number {
  const { circuit, inputs, electronics, desk, currentA } = path
  const connected = circuit.reached(inputs)
  const resistor = path.resistors.get(inputs.closed ?? -1)
  if (!connected || !resistor) return desk.observe(Number.NaN)
  const rs = resistor.resistance(toS)
  const rx = connected.body.meanResistance(fromS, toS)
  const settled = 1 + circuit.contactError(connected, fromS, toS)
  const shown = electronics.indicate((rx / rs) * settled, singles, currentA, rs)
  const observed = desk.observe(shown, connected.body.design.id)
  if (observed > electronics.design.highestRatio) return Number.POSITIVE_INFINITY
  return observed < -electronics.design.highestRatio ? Number.NEGATIVE_INFINITY : observed
}
