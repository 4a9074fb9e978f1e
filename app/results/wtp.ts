import type { WtpEntry } from '../records/register.ts'
import { SEEN } from './hysteresis.ts'

/** One measurement of R(WTP) in a session, zero current. */
export interface WtpMeasurement {
  readonly point: string
  readonly when: 'before' | 'after'
  readonly ohm: number
  readonly uOhm: number
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

const isBeyond = (mk: number, expandedMk: number): boolean => Math.abs(mk) > (SEEN * expandedMk) / 2

const mean = (values: readonly number[]) => values.reduce((sum, v) => sum + v, 0) / values.length

/**
 * Compares R(WTP) before and after, and with the last entry of the register. `mkPerRelative` is R/(dR/dt) at 0.01 degC
 * in mK. The bridge's and resistor's own errors are common to before and after, so `uOhm` is repeatability and cell.
 */
export function compareWtp(
  measurements: readonly WtpMeasurement[],
  last: WtpEntry | null,
  mkPerRelative: number,
): WtpComparison {
  const of = (when: 'before' | 'after') => measurements.filter((m) => m.when === when)
  const summary = (list: readonly WtpMeasurement[]) =>
    list.length === 0 ? null : { ohm: mean(list.map((m) => m.ohm)), u: Math.max(...list.map((m) => m.uOhm)) }
  const before = summary(of('before'))
  const after = summary(of('after'))
  const all = summary(measurements)
  const toMk = (ohm: number, at: number) => (ohm / at) * mkPerRelative
  const changeMk = before && after ? toMk(after.ohm - before.ohm, before.ohm) : null
  const expandedChangeMk = before && after ? 2 * toMk(Math.hypot(before.u, after.u), before.ohm) : null
  const sinceLast =
    last && all
      ? {
          date: last.date,
          differenceMk: toMk(all.ohm - Number(last.ohm), all.ohm),
          expandedMk: 2 * toMk(Math.hypot(all.u, last.uOhm), all.ohm),
        }
      : null
  return {
    measurements,
    changeMk,
    expandedChangeMk,
    changed: changeMk !== null && expandedChangeMk !== null && isBeyond(changeMk, expandedChangeMk),
    sinceLast: sinceLast && {
      ...sinceLast,
      moved: isBeyond(sinceLast.differenceMk, sinceLast.expandedMk),
    },
  }
}
