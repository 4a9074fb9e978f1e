import { decimalsOfU } from '../base/rounding.ts'

/** A time a person can use: '40 s', '14 min', '2 h 5 min'. */
export function duration(seconds: number): string {
  const s = Math.max(0, seconds)
  if (s < 90) return `${Math.round(s)} s`
  const minutes = Math.round(s / 60)
  if (minutes < 120) return `${minutes} min`
  const hours = Math.floor(minutes / 60)
  return minutes % 60 === 0 ? `${hours} h` : `${hours} h ${minutes % 60} min`
}

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
