/**
 * Upper quantile of chi-squared: the value that a sum of nu squares of standard normal numbers stays below with
 * probability p.
 *
 *   P(nu/2, x/2) = p
 *
 * Symbols  nu degrees of freedom; P the regularised lower incomplete gamma function, by its series
 * Source   M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 26.4.1 and 6.5.29 (numbers from memory)
 * Valid    nu from 0.5 to a few hundred, p strictly between 0 and 1; to 1e-9 of the value
 * Throws   RangeError outside
 */
export function chiSquaredQuantile(p: number, degreesOfFreedom: number): number {
  if (!(p > 0 && p < 1) || !(degreesOfFreedom >= 0.5)) {
    throw new RangeError(
      'A quantile of chi-squared needs a probability between 0 and 1 and degrees of freedom.',
    )
  }
  let low = 0
  let high = degreesOfFreedom + 10
  while (lowerGamma(degreesOfFreedom / 2, high / 2) < p) high *= 2
  for (let i = 0; i < 200 && high - low > 1e-12 * high; i++) {
    const middle = (low + high) / 2
    if (lowerGamma(degreesOfFreedom / 2, middle / 2) < p) low = middle
    else high = middle
  }
  return (low + high) / 2
}

/** Regularised lower incomplete gamma function P(a, x) by its series, which converges everywhere. */
function lowerGamma(a: number, x: number): number {
  if (x <= 0) return 0
  let term = 1 / a
  let sum = term
  for (let n = 1; n < 10_000 && term > sum * 1e-16; n++) {
    term *= x / (a + n)
    sum += term
  }
  return Math.min(1, sum * Math.exp(a * Math.log(x) - x - lnGamma(a)))
}

/**
 * ln of the gamma function: the recurrence up to where Stirling's series is exact to 1e-15.
 *
 * Symbols  a argument; ln Γ(a)
 * Source   M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 6.1.15 and 6.1.41
 * Valid    a > 0
 * Throws   nothing
 */
export function lnGamma(a: number): number {
  let at = a
  let shift = 0
  while (at < 16) {
    shift += Math.log(at)
    at += 1
  }
  const r2 = 1 / (at * at)
  const series = (1 / 12 - r2 * (1 / 360 - r2 * (1 / 1260 - r2 / 1680))) / at
  return (at - 0.5) * Math.log(at) - at + 0.5 * Math.log(2 * Math.PI) + series - shift
}
