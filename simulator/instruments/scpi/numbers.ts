/** NR3 with `digits` significant digits: +2.551234568E-01. Infinite and missing values as SCPI writes them. */
export function nr3(value: number, digits: number): string {
  if (Number.isNaN(value)) return '+9.91E+37'
  if (!Number.isFinite(value)) return value > 0 ? '+9.9E+37' : '-9.9E+37'
  const [mantissa, exponent] = value.toExponential(digits - 1).split('e') as [string, string]
  const sign = mantissa.startsWith('-') ? '' : '+'
  const power = Number(exponent)
  return `${sign}${mantissa}E${power < 0 ? '-' : '+'}${String(Math.abs(power)).padStart(2, '0')}`
}

/** NR2 with a fixed number of decimals: 25.003. */
export function nr2(value: number, decimals: number): string {
  if (!Number.isFinite(value)) return Number.isNaN(value) ? '9.91E+37' : value > 0 ? '9.9E+37' : '-9.9E+37'
  const text = value.toFixed(decimals)
  return Number(text) === 0 ? text.replace('-', '') : text
}
