import { checkThermometer, type RegisterFinding } from '../../app/checks/register-check.ts'
import { Conversion } from '../../app/kinds/conversion.ts'
import type { Thermometer } from '../../app/records/register.ts'
import { prepare } from '../../app/thermometry/convert.ts'
import { CONVERSION_FORMS } from '../desk/record-fields.ts'
import { readForm } from '../parts/forms.ts'
import { readNumber } from '../text/numbers.ts'
import type { EntryDraft } from './register.model.ts'

/** What the coefficients that are being typed make: to be held against the table of the certificate. */
export interface Typed {
  findings: readonly RegisterFinding[]
  rows: readonly { celsius: number; signal: number }[]
  unit: string
}

/** Said of every calibration whose uncertainty is still to be typed; it helps nobody who types coefficients. */
const UNCERTAINTY_MISSING = /no uncertainty entered/
const ROWS_C = [-200, -100, -50, 0, 25, 50, 100, 150, 200, 300, 400, 600]
const MOST_ROWS = 6

/**
 * Looks at coefficients while they are typed, whatever else of the record is still missing; undefined until they are whole.
 */
export function lookWhileTyping({ texts, calibration }: EntryDraft): Typed | undefined {
  if (!calibration) return undefined
  const conversion = typedConversion(calibration.kind, calibration.coefficients)
  if (!conversion) return undefined
  const [lowC, highC] = [readNumber(calibration.texts.lowC ?? ''), readNumber(calibration.texts.highC ?? '')]
  const range = {
    lowC: lowC ?? 0,
    highC: highC !== undefined && highC > (lowC ?? 0) ? highC : (lowC ?? 0) + 100,
  }
  const nominalOhm = readNumber(texts.nominalOhm ?? '')
  const entry: Thermometer = {
    id: 'typed',
    name: texts.name ?? '',
    kind: 'prt',
    maker: '',
    model: '',
    serial: '',
    owner: '',
    ...(nominalOhm !== undefined && nominalOhm > 0 && { nominalOhm }),
    ...range,
    currentMa: 1,
    calibrations: [
      {
        id: 'typed',
        date: '2000-01-01',
        certificate: calibration.texts.certificate ?? '',
        laboratory: '',
        conversion,
        ...range,
      },
    ],
    wtpHistory: [],
  }
  try {
    const findings = checkThermometer(entry).filter(({ words }) => !UNCERTAINTY_MISSING.test(words))
    return {
      findings,
      rows: rowsOf(conversion, range),
      unit: conversion.kind === 'thermocouple' ? 'mV' : 'Ω',
    }
  } catch (fault) {
    return {
      findings: [{ severity: 'error', words: fault instanceof Error ? fault.message : String(fault) }],
      rows: [],
      unit: '',
    }
  }
}

function typedConversion(kind: string, texts: Readonly<Record<string, string>>): Conversion | undefined {
  const { record, problems } = readForm(texts, CONVERSION_FORMS[kind]?.fields ?? [])
  if (Object.keys(problems).length > 0) return undefined
  const conversion: Record<string, unknown> = { kind, ...record }
  if (kind === 'its90') conversion.coefficients ??= {}
  const parsed = Conversion.safeParse(conversion)
  return parsed.success ? parsed.data : undefined
}

function rowsOf(conversion: Conversion, { lowC, highC }: { lowC: number; highC: number }): Typed['rows'] {
  const { toSignal } = prepare(conversion)
  const within = ROWS_C.filter((celsius) => celsius > lowC && celsius < highC)
  const every = Math.max(1, Math.ceil(within.length / (MOST_ROWS - 2)))
  return [lowC, ...within.filter((_, i) => i % every === 0), highC].flatMap((celsius) => {
    const { value } = toSignal(celsius)
    return Number.isFinite(value) ? [{ celsius, signal: value }] : []
  })
}
