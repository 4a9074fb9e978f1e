import { first } from '../base/lists.ts'
import type { WtpEntry } from '../records/register.ts'
import { welchSatterthwaite } from '../statistics/budget.ts'
import { coverageFactor } from '../statistics/coverage.ts'

/** One measurement of R(WTP) in a session, zero current. */
export interface WtpMeasurement {
  readonly point: string
  readonly when: 'before' | 'after'
  readonly ohm: number
  readonly uOhm: number
  /** Effective degrees of freedom of uOhm. */
  readonly dof: number
}

export interface WtpComparison {
  readonly measurements: readonly WtpMeasurement[]
  /** After less before, mK, with its expanded uncertainty (k = 2); null where one of them is missing. */
  readonly changeMk: number | null
  readonly expandedChangeMk: number | null
  /** By more than its standard uncertainty explains (99 %): what one night in a hundred does by itself. */
  readonly changed: boolean
  /** Measured here less the entry in force before, mK; null where the register has none. */
  readonly sinceLast: {
    readonly date: string
    readonly differenceMk: number
    readonly expandedMk: number
    readonly moved: boolean
  } | null
}

/** Probability up to which a difference comes of its uncertainty alone; common practice, no source. */
const EXPLAINED = 0.99

/**
 * A difference that its standard uncertainty explains with less than one chance in a hundred: Student's t for the effective
 * degrees of freedom, JCGM 100:2008, G.4.
 */
function isBeyond(mk: number, parts: readonly { u: number; degreesOfFreedom: number }[]): boolean {
  const u = Math.hypot(...parts.map((p) => p.u))
  return u > 0 && Math.abs(mk) > coverageFactor(EXPLAINED, welchSatterthwaite(u, parts)) * u
}

/**
 * Measurements of one cell by one thermometer in one night repeat alike: a few readings each tell little of how well.
 *
 *   u^2 = sum(nu_i u_i^2) / sum(nu_i),  nu = sum(nu_i)
 *
 * Source: JCGM 100:2008, 4.2.4 (pooled estimate of variance).
 */
function pooledOf(measurements: readonly WtpMeasurement[]): Pick<WtpMeasurement, 'uOhm' | 'dof'> {
  const known = measurements.filter(({ dof }) => Number.isFinite(dof))
  if (known.length < measurements.length) return first(measurements.toSorted((a, b) => b.uOhm - a.uOhm))
  const dof = known.reduce((sum, m) => sum + m.dof, 0)
  return { uOhm: Math.sqrt(known.reduce((sum, m) => sum + m.dof * m.uOhm ** 2, 0) / dof), dof }
}

const mean = (values: readonly number[]) => values.reduce((sum, v) => sum + v, 0) / values.length

/**
 * Compares R(WTP) before and after, and with the last entry of the register. `mkPerRelative` is R/(dR/dt) at 0.01 degC
 * in mK. The bridge's and resistor's own errors are common to before and after, so `uOhm` is repeatability, cell and
 * pairs of currents; against an earlier day `scaleRelative` is what today's bridge and resistor leave open of the ohm.
 */
export function compareWtp(
  measurements: readonly WtpMeasurement[],
  last: WtpEntry | null,
  mkPerRelative: number,
  scaleRelative: number,
): WtpComparison {
  const of = (when: 'before' | 'after') => measurements.filter((m) => m.when === when)
  const summary = (list: readonly WtpMeasurement[]) =>
    list.length === 0 ? null : { ohm: mean(list.map((m) => m.ohm)), pooled: pooledOf(measurements) }
  const before = summary(of('before'))
  const after = summary(of('after'))
  const all = summary(measurements)
  const toMk = (ohm: number, at: number) => (ohm / at) * mkPerRelative
  const scaleMk = scaleRelative * mkPerRelative
  const ofPooled = ({ uOhm, dof }: Pick<WtpMeasurement, 'uOhm' | 'dof'>, at: number) => ({
    u: toMk(uOhm, at),
    degreesOfFreedom: dof,
  })
  const changeMk = before && after ? toMk(after.ohm - before.ohm, before.ohm) : null
  const expandedChangeMk =
    before && after ? 2 * toMk(Math.hypot(before.pooled.uOhm, after.pooled.uOhm), before.ohm) : null
  const sinceLast =
    last && all
      ? {
          date: last.date,
          differenceMk: toMk(all.ohm - Number(last.ohm), all.ohm),
          expandedMk: 2 * Math.hypot(toMk(Math.hypot(all.pooled.uOhm, last.uOhm), all.ohm), scaleMk),
        }
      : null
  return {
    measurements,
    changeMk,
    expandedChangeMk,
    changed:
      before !== null &&
      after !== null &&
      isBeyond(
        changeMk!,
        [before, after].map((s) => ofPooled(s.pooled, before.ohm)),
      ),
    sinceLast: sinceLast && {
      ...sinceLast,
      moved: isBeyond(sinceLast.differenceMk, [
        ofPooled(all!.pooled, all!.ohm),
        { u: Math.hypot(toMk(last!.uOhm, all!.ohm), scaleMk), degreesOfFreedom: Number.POSITIVE_INFINITY },
      ]),
    },
  }
}
