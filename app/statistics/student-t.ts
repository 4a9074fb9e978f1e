import { said } from '../messages/said.ts'
import { StatisticsError } from './errors.ts'
import { normalDensity, normalUpperQuantile, normalUpperTail } from './normal.ts'

/** From here on the expansion about the normal distribution is exact to the last digit of a double. */
const EXPANSION_FROM_DOF = 3000

/** ln Γ(a + ½) − ln Γ(a): the recurrence up to where the asymptotic series (A&S 6.1.47) is exact. */
function logGammaHalfStep(a: number): number {
  let shift = 0
  let at = a
  while (at < 16) {
    shift += Math.log(at / (at + 0.5))
    at += 1
  }
  const r = 1 / at
  const r2 = r * r
  const series = r * (-1 / 8 + r2 * (1 / 192 + r2 * (-1 / 640 + r2 * (17 / 14336 + r2 * (-31 / 18432)))))
  return shift + 0.5 * Math.log(at) + series
}

function requireDegreesOfFreedom(dof: number): void {
  if (!(dof > 0)) {
    throw new StatisticsError('out-of-range', said('degrees-of-freedom-not-positive', { dof }), { dof })
  }
}

/**
 * Probability density of Student's t.
 *
 *   f(t) = Γ((ν+1)/2) / (Γ(ν/2) √(νπ)) (1 + t²/ν)^(−(ν+1)/2)
 *
 * Symbols  t variable, dimensionless; ν degrees of freedom (need not be whole; Infinity is the normal)
 * Source   JCGM 100:2008, G.3.2, equation (G.2) (number of the equation from memory)
 * Valid    ν > 0
 * Throws   StatisticsError 'out-of-range'
 */
export function tDensity(t: number, dof: number): number {
  requireDegreesOfFreedom(dof)
  if (dof === Number.POSITIVE_INFINITY) return normalDensity(t)
  const logPower = t * t < dof * 1e300 ? Math.log1p((t * t) / dof) : 2 * Math.log(Math.abs(t)) - Math.log(dof)
  return Math.exp(logGammaHalfStep(dof / 2) - 0.5 * (dof + 1) * logPower) / Math.sqrt(dof * Math.PI)
}

/**
 * Continued fraction of the incomplete beta function, by the modified Lentz method.
 *
 * Symbols  x in (0, 1); a, b parameters
 * Source   M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 26.5.8
 * Valid    x < (a + 1)/(a + b + 2), where it converges fast
 * Throws   nothing
 */
export function betaContinuedFraction(x: number, a: number, b: number): number {
  const tiny = 1e-300
  let c = 1
  let d = 1 - ((a + b) * x) / (a + 1)
  d = 1 / (Math.abs(d) < tiny ? tiny : d)
  let value = d
  for (let m = 1; m < 20_000; m++) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m))
    d = 1 + even * d
    d = 1 / (Math.abs(d) < tiny ? tiny : d)
    c = 1 + even / c
    if (Math.abs(c) < tiny) c = tiny
    value *= d * c
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1))
    d = 1 + odd * d
    d = 1 / (Math.abs(d) < tiny ? tiny : d)
    c = 1 + odd / c
    if (Math.abs(c) < tiny) c = tiny
    const factor = d * c
    value *= factor
    if (Math.abs(factor - 1) < 2e-16) break
  }
  return value
}

/**
 * Upper tail probability of Student's t, without loss of digits far out.
 *
 *   Q(t) = ½ I_x(ν/2, ½),  x = ν/(ν + t²)
 *
 * Symbols  t variable; ν degrees of freedom; I the regularised incomplete beta function
 * Source   Abramowitz and Stegun, Handbook of Mathematical Functions, 26.5.27 and 26.7.1
 * Valid    ν > 0; relative error about 1e-14, above EXPANSION_FROM_DOF 1e-11 up to t = 5, 1e-9 up to 10, 1e-4 up to 30
 * Throws   StatisticsError 'out-of-range'
 */
export function tUpperTail(t: number, dof: number): number {
  requireDegreesOfFreedom(dof)
  if (Number.isNaN(t)) return Number.NaN
  if (t < 0) return 1 - tUpperTail(-t, dof)
  if (t === 0) return 0.5
  if (t === Number.POSITIVE_INFINITY) return 0
  if (dof === Number.POSITIVE_INFINITY) return normalUpperTail(t)
  if (dof === 1) return Math.atan2(1, t) / Math.PI
  if (dof > EXPANSION_FROM_DOF) return normalUpperTail(normalOfT(t, dof))
  const a = dof / 2
  const ratio = (t / dof) * t
  const x = 1 / (1 + ratio)
  // The square of t may be beyond a double where the tail is not: few degrees of freedom reach far.
  const reaches = Number.isFinite(ratio)
  const y = reaches ? ratio / (1 + ratio) : 1
  const logRatio = reaches ? Math.log1p(ratio) : 2 * Math.log(t) - Math.log(dof)
  const front = Math.exp(logGammaHalfStep(a) - 0.5 * Math.log(Math.PI) - a * logRatio + 0.5 * Math.log(y))
  if (x < (a + 1) / (a + 2.5)) return (0.5 * front * betaContinuedFraction(x, a, 0.5)) / a
  return 0.5 - 0.5 * front * 2 * betaContinuedFraction(y, 0.5, a)
}

/**
 * The normal deviate with the tail of t, for many degrees of freedom: the inverse of the expansion
 * of A&S 26.7.5, by Newton's steps with the leading terms of its slope.
 */
function normalOfT(t: number, dof: number): number {
  let z = t
  for (let i = 0; i < 8; i++) z -= (tOfNormal(z, dof) - t) / (1 + (0.75 * z * z) / dof)
  return z
}

/** t as an expansion about the normal deviate, A&S 26.7.5. */
function tOfNormal(z: number, dof: number): number {
  const z2 = z * z
  const g1 = (z * (z2 + 1)) / 4
  const g2 = (z * (3 + z2 * (16 + z2 * 5))) / 96
  const g3 = (z * (-15 + z2 * (17 + z2 * (19 + z2 * 3)))) / 384
  const g4 = (z * (-945 + z2 * (-1920 + z2 * (1482 + z2 * (776 + z2 * 79))))) / 92160
  return z + (g1 + (g2 + (g3 + g4 / dof) / dof) / dof) / dof
}

/**
 * Distribution function of Student's t.
 *
 * Symbols  t variable; ν degrees of freedom
 * Source   JCGM 100:2008, G.3.2; Abramowitz and Stegun, 26.7.1
 * Valid    ν > 0
 * Throws   StatisticsError 'out-of-range'
 */
export function tCdf(t: number, dof: number): number {
  return t > 0 ? 1 - tUpperTail(t, dof) : tUpperTail(-t, dof)
}

/**
 * The t that leaves the probability q above it.
 *
 * Newton steps on ln Q against ln t, where the tail of every ν is close to a straight line, inside
 * a bracket that only shrinks.
 *
 * Symbols  q upper tail probability; ν degrees of freedom
 * Source   Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.5 (expansion for large ν)
 * Valid    0 ≤ q ≤ 1, ν > 0
 * Throws   StatisticsError 'out-of-range'
 */
export function tUpperQuantile(q: number, dof: number): number {
  requireDegreesOfFreedom(dof)
  if (!(q >= 0 && q <= 1)) {
    throw new StatisticsError('out-of-range', said('probability-out-of-range', { q }), { q })
  }
  if (q > 0.5) return -tUpperQuantile(1 - q, dof)
  if (q === 0.5) return 0
  if (q === 0) return Number.POSITIVE_INFINITY
  const z = normalUpperQuantile(q)
  if (dof === Number.POSITIVE_INFINITY) return z
  if (dof === 1) return 1 / Math.tan(Math.PI * q)
  if (dof === 2) return (1 - 2 * q) * Math.sqrt(1 / (2 * q * (1 - q)))
  if (dof > EXPANSION_FROM_DOF) return tOfNormal(z, dof)
  let low = Math.log(z) - 1
  let high = low + 2
  while (tUpperTail(Math.exp(high), dof) > q && high < 700) high += Math.max(2, 2 / dof)
  while (tUpperTail(Math.exp(low), dof) < q) low -= 1
  let u = Math.min(high, Math.max(low, Math.log(Math.abs(tOfNormal(z, dof)))))
  for (let step = 0; step < 200; step++) {
    const t = Math.exp(u)
    const tail = tUpperTail(t, dof)
    const gap = Math.log(tail / q)
    if (gap > 0) low = u
    else high = u
    const newton = u + (gap * tail) / (t * tDensity(t, dof))
    const next = newton > low && newton < high ? newton : 0.5 * (low + high)
    const change = Math.abs(next - u)
    u = next
    if (change < 1e-16 * Math.max(1, Math.abs(u)) || high - low < 1e-16) break
  }
  return Math.exp(u)
}

/**
 * Quantile of Student's t.
 *
 *   Pr(T ≤ t) = p
 *
 * Symbols  p probability below t; ν degrees of freedom (need not be whole; Infinity is the normal)
 * Source   JCGM 100:2008, G.3.4 and table G.2 (which states two-sided fractions, see coverageFactor)
 * Valid    0 ≤ p ≤ 1, ν > 0; relative error below 1e-12
 * Throws   StatisticsError 'out-of-range'
 */
export function tQuantile(p: number, dof: number): number {
  return p > 0.5 ? tUpperQuantile(1 - p, dof) : -tUpperQuantile(p, dof)
}
