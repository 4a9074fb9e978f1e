import { siUnit } from '../dcc-parts.ts'

const FACTOR = /\\([a-z]+)(?:\\tothe\{(-?\d+)\})?/g

/** Powers of the units that a D-SI unit is made of. */
function powersOf(unit: string): Map<string, number> {
  const powers = new Map<string, number>()
  for (const [, name = '', power] of unit.matchAll(FACTOR)) {
    if (name !== 'one') powers.set(name, (powers.get(name) ?? 0) + Number(power ?? 1))
  }
  return powers
}

/** Product of two of the report's units, in D-SI: unit of a covariance, and the power of ten that goes into its value. */
export function unitProduct(a: string, b: string): { unit: string; power: number } {
  // An error of a temperature on the Celsius scale is a difference, and in kelvin.
  const [p, q] = [siUnit(a === '°C' ? 'K' : a), siUnit(b === '°C' ? 'K' : b)]
  const powers = powersOf(p.unit)
  for (const [name, power] of powersOf(q.unit)) powers.set(name, (powers.get(name) ?? 0) + power)
  const unit = [...powers]
    .filter(([, power]) => power !== 0)
    .map(([name, power]) => `\\${name}${power === 1 ? '' : `\\tothe{${power}}`}`)
    .join('')
  return { unit: unit || '\\one', power: p.power + q.power }
}
