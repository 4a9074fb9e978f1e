import { Conversion } from '../kinds/conversion.ts'
import { ResistorCalibration, ThermometerCalibration } from '../records/register.ts'
import { prepare } from '../thermometry/convert.ts'
import type { DccReading } from './read.ts'

/** A calibration as the register takes it, or why none could be made. */
export type Made<T> = { readonly calibration: T } | { readonly refusal: string }

const NAMES: Readonly<Record<string, string>> = { R0: 'r0', A: 'a', B: 'b', C: 'c', 'R(0.01°C)': 'rWtp' }

function conversionOf(read: DccReading): unknown {
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
  return null
}

/**
 * The calibration of a resistance thermometer that a certificate's coefficients make, every digit as it stands there. The uncertainty is
 * that of the curve where it is stated, else that of the points.
 */
export function thermometerCalibration(read: DccReading, id: string): Made<ThermometerCalibration> {
  const stated = conversionOf(read)
  if (stated === null) {
    return {
      refusal:
        'The certificate states no coefficients that make a conversion: R0, A, B; R(0.01 °C) with those of ITS-90; or A0, A1, A3. Enter ' +
        'what it states by hand.',
    }
  }
  const conversion = Conversion.safeParse(stated)
  if (!conversion.success) {
    return { refusal: `The coefficients do not make a conversion: ${conversion.error.issues[0]!.message}.` }
  }
  const prepared = prepare(conversion.data)
  const curve =
    read.curve.length > 0
      ? read.curve.map(({ celsius, expandedMk, k }) => ({ celsius, mk: (2 * expandedMk) / k }))
      : read.points.flatMap(({ celsius, expanded, k, quantity }) => {
          if (expanded === null || quantity === 'celsius') return []
          const slope = Math.abs(prepared.toSignal(Number(celsius)).dValueDInput)
          return [{ celsius: Number(celsius), mk: (2e3 * Number(expanded)) / Number(k) / slope }]
        })
  const temperatures = read.points.map(({ celsius }) => Number(celsius))
  const lowC = read.lowC ?? Math.min(...temperatures)
  const highC = read.highC ?? Math.max(...temperatures)
  if (!(lowC < highC)) return { refusal: 'The certificate does not say over which temperatures it holds.' }
  const made = ThermometerCalibration.safeParse({
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
    note: 'read from its digital certificate',
  })
  return made.success ? { calibration: made.data } : { refusal: made.error.issues[0]!.message }
}

/** The calibration of a resistor: one resistance with its uncertainty, at a temperature. */
export function resistorCalibration(read: DccReading, id: string): Made<ResistorCalibration> {
  const [only, ...more] = read.points
  if (!only || more.length > 0 || only.quantity !== 'ohm' || only.expanded === null) {
    return {
      refusal: 'The certificate does not state one resistance with its uncertainty. Enter it by hand.',
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
  return made.success ? { calibration: made.data } : { refusal: made.error.issues[0]!.message }
}
