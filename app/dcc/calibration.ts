import { CodedError, saidBy } from '../base/coded-error.ts'
import { at, first } from '../base/lists.ts'
import { type FitInput, fitThermometer } from '../fit/fit.ts'
import { Conversion, type ThermocoupleType } from '../kinds/conversion.ts'
import type { Fit } from '../kinds/kind.ts'
import { KINDS } from '../kinds/table.ts'
import { thermocoupleTypeOf } from '../kinds/thermocouple.ts'
import { asTold, type Said, said } from '../messages/said.ts'
import { ResistorCalibration, type Thermometer, ThermometerCalibration } from '../records/register.ts'
import { shiftText } from '../report/decimal-text.ts'
import { prepare } from '../thermometry/convert.ts'
import type { DccReading, ReadPoint } from './read.ts'

/** A calibration as the register takes it, or why none could be made. */
export type Made<T> = { readonly calibration: T } | { readonly refusal: Said }

const NAMES: Readonly<Record<string, string>> = { R0: 'r0', A: 'a', B: 'b', C: 'c', 'R(0.01°C)': 'rWtp' }

/** A power of ten from the SI unit of a voltage to that of the register, mV. */
const MILLI = 3

function conversionOf(read: DccReading, type: ThermocoupleType | undefined): unknown {
  const by = new Map(read.coefficients.map(({ label, value }) => [label, value]))
  const labels = read.coefficients.map(({ label }) => label)
  const names = labels.filter((l) => l !== 'C' || labels.length === read.covariance?.length)
  const covariance = read.covariance &&
    read.covariance.length === names.length && {
      covariance: { names: names.map((l) => NAMES[l] ?? l.replace(/^A(?=\d)/, '')), matrix: read.covariance },
    }
  if (by.has('R0') && by.has('A') && by.has('B')) {
    const [r0, a, b, c] = ['R0', 'A', 'B', 'C'].map((l) => by.get(l))
    return { kind: 'callendar-van-dusen', r0, a, b, ...(c && { c }), ...covariance }
  }
  if (by.has('R(0.01°C)')) {
    const coefficients = Object.fromEntries([...by].filter(([label]) => /^([abcd]|c[1-5])$/.test(label)))
    return {
      kind: 'its90',
      rWtp: by.get('R(0.01°C)'),
      coefficients,
      ...(read.section && { subrange: read.section }),
    }
  }
  if (by.has('A0') && by.has('A1')) {
    return {
      kind: 'steinhart-hart',
      coefficients: labels.map((l) => by.get(l)),
      powers: labels.map((l) => Number(l.slice(1))),
      ...covariance,
    }
  }
  if (labels.length > 0 && labels.every((l) => /^d\d$/.test(l)) && type !== undefined) {
    const powers = labels.map((l) => Number(l.slice(1)))
    const deviation = Array.from(
      { length: Math.max(...powers) + 1 },
      (_, power) => by.get(`d${power}`) ?? '0',
    )
    return {
      kind: 'thermocouple',
      type,
      deviation: deviation.map((text) => shiftText(text, MILLI)),
      ...(read.covariance?.length === labels.length && {
        covariance: {
          names: labels.map((l) => l.slice(1)),
          matrix: read.covariance.map((row) => row.map((value) => value * 10 ** (2 * MILLI))),
        },
      }),
    }
  }
  return null
}

/** What the register knows of the thermometer that a certificate is of. */
export type KnownItem = Pick<
  Thermometer,
  'kind' | 'fit' | 'nominalOhm' | 'thermocoupleType' | 'calibrations' | 'wtpHistory'
>

const modelOf = (fit: Fit, item: KnownItem, n: number): FitInput['model'] | string => {
  switch (fit) {
    case 'thermocouple': {
      const type = thermocoupleTypeOf(item)
      return type === undefined
        ? 'The register does not say which type this thermocouple is. Enter its letter, then import the certificate again.'
        : { kind: 'thermocouple', type, degree: Math.min(2, n - 1) }
    }
    case 'polynomial':
      return { kind: 'polynomial', degree: Math.min(3, n - 1) }
    default:
      return { kind: fit }
  }
}

const millivolts = ({ signal, quantity }: ReadPoint) =>
  quantity === 'volt' ? shiftText(signal, MILLI) : signal

/**
 * The relation of its kind through the points of a certificate that states no coefficients, and how far they lie from it.
 * A point farther off than its own U says that the relation does not hold for it.
 */
function fitted(
  read: DccReading,
  item: KnownItem,
): { readonly conversion: unknown; readonly scatterK: number } | { readonly refusal: Said } {
  const { signal, fit } = KINDS[item.kind]
  const usable = read.points.filter(({ quantity }) => quantity === (signal === 'voltage' ? 'volt' : 'ohm'))
  if (usable.length < 2) return { refusal: said('dcc-states-nothing', {}) }
  const model = modelOf(item.fit ?? fit, item, usable.length)
  if (typeof model === 'string') return { refusal: asTold(model) }
  try {
    const found = fitThermometer({
      model,
      points: usable.map((point) => ({ t90C: Number(point.celsius), signal: Number(millivolts(point)) })),
    })
    const toSignal = signal === 'voltage' ? 10 ** MILLI : 1
    // Of several points beyond their U the farthest is the likeliest to be the one that is wrong.
    let off: ReadPoint | undefined
    let most = 1
    for (const [i, point] of usable.entries()) {
      if (point.expanded === null) continue
      const part = Math.abs(at(found.residualsSignal, i)) / (Number(point.expanded) * toSignal)
      if (part > most) [off, most] = [point, part]
    }
    if (off)
      return {
        refusal:
          model.kind === 'thermocouple'
            ? said('dcc-value-off-smooth', { celsius: off.celsius })
            : said('dcc-value-off-relation', { celsius: off.celsius }),
      }
    const { degreesOfFreedom, residualsK } = found
    const sum = residualsK.reduce((all, r) => all + r * r, 0)
    return {
      conversion: found.conversion,
      scatterK: degreesOfFreedom > 0 ? Math.sqrt(sum / degreesOfFreedom) : 0,
    }
  } catch (fault) {
    if (!(fault instanceof CodedError)) throw fault
    return {
      refusal: said('dcc-determines-nothing', { why: saidBy(fault) }),
    }
  }
}

/**
 * The calibration of a thermometer that a certificate makes: its coefficients, every digit as it stands there, else the relation
 * of its kind through its points. The uncertainty is that of the curve where it is stated, else that of the points, with the
 * scatter about a relation that was fitted here (common practice, no source).
 */
export function thermometerCalibration(
  read: DccReading,
  id: string,
  item?: KnownItem,
): Made<ThermometerCalibration> {
  const own = conversionOf(read, item && thermocoupleTypeOf(item))
  const made = own === null && item ? fitted(read, item) : { conversion: own, scatterK: 0 }
  if ('refusal' in made) return made
  const { conversion: stated, scatterK } = made
  if (stated === null) {
    return {
      refusal: said('dcc-makes-no-conversion', {}),
    }
  }
  const conversion = Conversion.safeParse(stated)
  if (!conversion.success) {
    return { refusal: said('dcc-coefficients-wrong', { why: first(conversion.error.issues).message }) }
  }
  const prepared = prepare(conversion.data)
  const curve =
    read.curve.length > 0
      ? read.curve.map(({ celsius, expandedMk, k }) => ({ celsius, mk: (2 * expandedMk) / k }))
      : read.points.flatMap(({ celsius, expanded, k, quantity }) => {
          if (expanded === null || quantity === 'celsius') return []
          const slope = Math.abs(prepared.toSignal(Number(celsius)).dValueDInput)
          const u = (Number(expanded) * (quantity === 'volt' ? 10 ** MILLI : 1)) / Number(k) / slope
          return [{ celsius: Number(celsius), mk: 2e3 * Math.hypot(u, scatterK) }]
        })
  const temperatures = read.points.map(({ celsius }) => Number(celsius))
  const lowC = read.lowC ?? Math.min(...temperatures)
  const highC = read.highC ?? Math.max(...temperatures)
  if (!(lowC < highC)) return { refusal: said('dcc-without-range', {}) }
  const parsed = ThermometerCalibration.safeParse({
    id,
    date: read.date,
    certificate: read.number,
    laboratory: read.laboratory,
    conversion: conversion.data,
    ...(curve.length > 0 && {
      uncertainty: {
        k: 2,
        points: curve.map(({ celsius, mk }) => ({ celsius, expandedMk: Number(mk.toPrecision(4)) })),
      },
    }),
    lowC,
    highC,
    note:
      own === null
        ? 'read from its digital certificate; the relation was fitted here through its points'
        : 'read from its digital certificate',
  })
  return parsed.success
    ? { calibration: parsed.data }
    : { refusal: asTold(first(parsed.error.issues).message) }
}

/** The calibration of a resistor: one resistance with its uncertainty, at a temperature. */
export function resistorCalibration(read: DccReading, id: string): Made<ResistorCalibration> {
  const [only, ...more] = read.points
  if (!only || more.length > 0 || only.quantity !== 'ohm' || only.expanded === null) {
    return {
      refusal: said('dcc-without-resistance', {}),
    }
  }
  const made = ResistorCalibration.safeParse({
    id,
    date: read.date,
    certificate: read.number,
    laboratory: read.laboratory,
    ohm: only.signal,
    celsius: Number(only.celsius),
    expandedRelative: Number(only.expanded) / Number(only.signal),
    k: Number(only.k),
  })
  return made.success ? { calibration: made.data } : { refusal: asTold(first(made.error.issues).message) }
}
