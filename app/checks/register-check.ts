import type { Conversion } from '../kinds/conversion.ts'
import type { Thermometer, ThermometerCalibration, WtpEntry } from '../records/register.ts'
import { prepare } from '../thermometry/convert.ts'
import { subrangesOf } from '../thermometry/its90.ts'
import { checkCertificate } from '../thermometry/its90-calibration.ts'

export interface RegisterFinding {
  severity: 'note' | 'warning' | 'error'
  words: string
}

/** A platinum thermometer's alpha between 0 and 100 degC lies within this; common practice, no source. */
const ALPHA = { low: 0.00375, high: 0.00394 } as const
/** Relative distance of a resistance from the nominal value that is worth a word; common practice, no source. */
const FAR_FROM_NOMINAL = 0.05

/**
 * Looks for typing errors in a thermometer's entry as a person makes it: dates out of order, a range upside down,
 * coefficients that are no platinum's, R(WTP) far from nominal, a conversion that fails inside its own range. An empty list
 * means that nothing was found, not that the entry is right.
 */
export function checkThermometer(entry: Thermometer): RegisterFinding[] {
  const findings: RegisterFinding[] = []
  if (entry.lowC >= entry.highC) {
    findings.push({
      severity: 'error',
      words: `The range ends at ${entry.highC} °C, below its beginning at ${entry.lowC} °C.`,
    })
  }
  for (const calibration of entry.calibrations) findings.push(...checkCalibration(entry, calibration))
  findings.push(...checkWtp(entry))
  return findings
}

function checkCalibration(entry: Thermometer, calibration: ThermometerCalibration): RegisterFinding[] {
  const findings: RegisterFinding[] = []
  const name = `Certificate ${calibration.certificate || calibration.id}`
  if (calibration.due !== undefined && calibration.due <= calibration.date) {
    findings.push({
      severity: 'error',
      words: `${name}: due on ${calibration.due}, which is not after its date, ${calibration.date}.`,
    })
  }
  if (calibration.lowC >= calibration.highC) {
    findings.push({
      severity: 'error',
      words: `${name}: its range ends at ${calibration.highC} °C, below its beginning.`,
    })
    return findings
  }
  if (calibration.uncertainty === undefined) {
    findings.push({
      severity: 'warning',
      words: `${name}: no uncertainty entered; results that rest on it will lack its part.`,
    })
  }
  const { conversion } = calibration
  if (conversion.kind === 'its90') findings.push(...checkIts90(name, conversion))
  if (conversion.kind === 'callendar-van-dusen' || conversion.kind === 'iec60751')
    findings.push(...checkIndustrial(name, entry, conversion))
  findings.push(...checkRange(name, calibration))
  return findings
}

function checkIts90(name: string, conversion: Extract<Conversion, { kind: 'its90' }>): RegisterFinding[] {
  const numbers = Object.fromEntries(
    Object.entries(conversion.coefficients).flatMap(([key, value]) =>
      value === undefined ? [] : [[key, Number(value)]],
    ),
  )
  try {
    return subrangesOf(conversion).flatMap(({ section, coefficients }) => {
      const own = Object.fromEntries(
        Object.entries(numbers).filter(([key]) => (coefficients as readonly string[]).includes(key)),
      )
      const rWtp = conversion.rWtp === undefined ? undefined : Number(conversion.rWtp)
      const wAluminium = conversion.wAluminium === undefined ? undefined : Number(conversion.wAluminium)
      return checkCertificate(section, own, rWtp, wAluminium).map(({ severity, words }) => ({
        severity,
        words: `${name}: ${words}`,
      }))
    })
  } catch (fault) {
    return [{ severity: 'error', words: `${name}: ${(fault as Error).message}` }]
  }
}

function checkIndustrial(
  name: string,
  entry: Thermometer,
  conversion: Extract<Conversion, { kind: 'callendar-van-dusen' | 'iec60751' }>,
): RegisterFinding[] {
  const findings: RegisterFinding[] = []
  const prepared = prepare(conversion)
  const r0 = prepared.toSignal(0).value
  const alpha = (prepared.toSignal(100).value - r0) / (100 * r0)
  if (!(alpha >= ALPHA.low && alpha <= ALPHA.high)) {
    findings.push({
      severity: 'error',
      words: `${name}: the coefficients make alpha ${alpha.toPrecision(4)} per K; platinum lies between ${ALPHA.low} and ${ALPHA.high}. Look for a wrong sign or exponent.`,
    })
  }
  if (entry.nominalOhm !== undefined && Math.abs(r0 / entry.nominalOhm - 1) > FAR_FROM_NOMINAL) {
    findings.push({
      severity: 'warning',
      words: `${name}: R(0 °C) = ${r0} ohm is far from the nominal ${entry.nominalOhm} ohm.`,
    })
  }
  return findings
}

function checkRange(name: string, { conversion, lowC, highC }: ThermometerCalibration): RegisterFinding[] {
  try {
    const prepared = prepare(conversion)
    for (const celsius of [lowC, highC]) {
      const { value, marks } = prepared.toSignal(celsius)
      if (!Number.isFinite(value)) {
        return [
          {
            severity: 'error',
            words: `${name}: has no answer at ${celsius} °C, which its own range includes.`,
          },
        ]
      }
      if (marks.includes('outside-range')) {
        return [
          { severity: 'warning', words: `${name}: ${celsius} °C lies outside the range of its function.` },
        ]
      }
    }
    return []
  } catch (fault) {
    return [{ severity: 'error', words: `${name}: ${(fault as Error).message}` }]
  }
}

function checkWtp(entry: Thermometer): RegisterFinding[] {
  const findings: RegisterFinding[] = []
  const history = entry.wtpHistory.toSorted((a, b) => a.date.localeCompare(b.date))
  let before: WtpEntry | undefined
  for (const entered of history) {
    const { date, ohm } = entered
    const value = Number(ohm)
    if (entry.nominalOhm !== undefined && Math.abs(value / entry.nominalOhm - 1) > FAR_FROM_NOMINAL) {
      findings.push({
        severity: 'error',
        words: `R(WTP) of ${date}, ${ohm} ohm, is far from the nominal ${entry.nominalOhm} ohm. Look at the decimal sign.`,
      })
      continue
    }
    // 1e-6 of R(WTP) is about a quarter of a millikelvin at the water triple point.
    const change = before ? value / Number(before.ohm) - 1 : 0
    if (Math.abs(change) > 1e-5) {
      findings.push({
        severity: 'warning',
        words: `R(WTP) changed by ${(change * 1e6).toFixed(1)} parts in 10^6 between ${before?.date} and ${date}, about ${Math.abs((change / 3.9885e-3) * 1000).toFixed(1)} mK. Look for a typing error, or for what happened to the thermometer.`,
      })
    }
    before = entered
  }
  return findings
}
