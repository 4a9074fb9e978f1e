import { decimalsOfU } from '../base/rounding.ts'

/** A number with two figures that matter: 1.8, 0.53, 12, 340. */
export function figure(value: number): string {
  if (!Number.isFinite(value)) return 'unknown'
  const size = Math.abs(value)
  if (size === 0) return '0'
  return String(Number(value.toFixed(Math.min(6, decimalsOfU(size)))))
}

/** A temperature as a setpoint is said: '100 °C', '0.01 °C'. */
export function celsiusWords(celsius: number): string {
  return `${Number(celsius.toFixed(3))} °C`
}
