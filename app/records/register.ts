import { z } from 'zod'
import { Conversion, ThermocoupleType } from '../kinds/conversion.ts'
import { FITS } from '../kinds/kind.ts'
import { THERMOMETER_KINDS } from '../kinds/table.ts'
import { Bath } from './bath.ts'
import { Cell } from './cell.ts'
import { Construction, SignerStatements } from './certificate.ts'
import { OutOfUse } from './out-of-use.ts'
import { Repairs } from './repair.ts'

const Id = z.string().min(1).max(80)
const IsoDate = z.iso.date()
/** Decimal text as printed on a certificate: every digit is kept. */
export const DecimalText = z
  .string()
  .regex(/^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/, 'a number such as 100.000123 or 1.2e-6')

/**
 * How certain a calibration is over its range: expanded uncertainty at some temperatures, linear between them.
 * Outside the listed temperatures the nearest one holds.
 */
export const CalibrationUncertainty = z.strictObject({
  k: z.number().positive(),
  points: z.array(z.strictObject({ celsius: z.number(), expandedMk: z.number().nonnegative() })).min(1),
})
export type CalibrationUncertainty = z.output<typeof CalibrationUncertainty>

/** By what right a laboratory calibrates: number of its accreditation, or that it is a national metrology institute. */
const Accreditation = z.string().optional()

/** SHA-256 of the digital certificate it was read from, which the data folder keeps. */
const CertificateFile = z
  .string()
  .regex(/^[0-9a-f]{64}$/)
  .optional()

/** The certificate of work that stands in the register, as it was signed: from then on neither changes. */
export const SignedWork = z.strictObject({
  who: z.string(),
  utcUs: z.int(),
  /** From the laboratory's series. */
  number: z.string(),
  electronic: z.boolean(),
  statements: SignerStatements,
})
export type SignedWork = z.output<typeof SignedWork>

export const ThermometerCalibration = z.strictObject({
  id: Id,
  date: IsoDate,
  due: IsoDate.optional(),
  certificate: z.string(),
  laboratory: z.string(),
  accreditation: Accreditation,
  conversion: Conversion,
  uncertainty: CalibrationUncertainty.optional(),
  /** Range in which the certificate holds. */
  lowC: z.number(),
  highC: z.number(),
  /** Whether the conversion holds at zero current, so that self-heating is taken off; absent: as its kind usually does. */
  atZeroCurrent: z.boolean().optional(),
  file: CertificateFile,
  /** The plateaus it was made of, as the check took them, so that it can be worked out and printed again. */
  fixedPoints: z
    .strictObject({
      plateaus: z.array(z.record(z.string(), z.union([z.number(), z.string()]))).min(2),
      coverage: z.number(),
      subrange: z.string().optional(),
    })
    .optional(),
  signed: SignedWork.optional(),
  note: z.string().optional(),
})
export type ThermometerCalibration = z.output<typeof ThermometerCalibration>

/** One measured R(WTP), zero-current, ohm. */
export const WtpEntry = z.strictObject({
  date: IsoDate,
  ohm: DecimalText,
  /** Standard uncertainty, ohm. */
  uOhm: z.number().nonnegative(),
  session: z.string().optional(),
  note: z.string().optional(),
})
export type WtpEntry = z.output<typeof WtpEntry>

export const Thermometer = z.strictObject({
  id: Id,
  name: z.string(),
  kind: z.enum(THERMOMETER_KINDS),
  maker: z.string().default(''),
  model: z.string().default(''),
  serial: z.string().default(''),
  owner: z.string().default(''),
  /** Nominal resistance: at 0 degC for platinum, at 25 degC for thermistors, ohm. */
  nominalOhm: z.number().positive().optional(),
  lowC: z.number(),
  highC: z.number(),
  currentMa: z.number().positive().default(1),
  /** Self-heating at currentMa in a stirred bath, mK, where known. */
  selfHeatingMk: z.number().nonnegative().optional(),
  /** By how much R(WTP) may change within a session or since the last one before a person has to decide, mK. */
  wtpLimitMk: z.number().nonnegative().optional(),
  /** Model the comparison fits to it. */
  fit: z.enum(FITS).optional(),
  /** How the element of an industrial platinum thermometer is made, where its maker or owner states it. */
  construction: Construction.optional(),
  /** Letter of a thermocouple's reference function. */
  thermocoupleType: ThermocoupleType.optional(),
  calibrations: z.array(ThermometerCalibration).default([]),
  wtpHistory: z.array(WtpEntry).default([]),
  repairs: Repairs,
  note: z.string().optional(),
  outOfUse: OutOfUse.optional(),
})
export type Thermometer = z.output<typeof Thermometer>

/** Rs(T, date) = ohm [1 + alpha (T - celsius) + beta (T - celsius)^2] (1 + drift (date - date of calibration)). */
export const ResistorCalibration = z.strictObject({
  id: Id,
  date: IsoDate,
  due: IsoDate.optional(),
  certificate: z.string(),
  laboratory: z.string(),
  accreditation: Accreditation,
  ohm: DecimalText,
  /** Temperature the value holds at. */
  celsius: z.number(),
  /** Per kelvin and per kelvin squared, relative. */
  alphaPerK: z.number().default(0),
  betaPerK2: z.number().default(0),
  /** Relative, per year of 365.25 days. */
  driftPerYear: z.number().default(0),
  /** Relative expanded uncertainty and its k. */
  expandedRelative: z.number().nonnegative(),
  k: z.number().positive().default(2),
  /** Standard uncertainty of driftPerYear; 0: not stated. */
  uDriftPerYear: z.number().nonnegative().default(0),
  /** The drift was worked out here from the resistor's values, so that it is no knowledge beside them. */
  driftFromHistory: z.boolean().optional(),
  file: CertificateFile,
})
export type ResistorCalibration = z.output<typeof ResistorCalibration>

/** A resistor measured as a ratio to a better one, dated. */
export const ComparedResistor = z.strictObject({
  id: Id,
  date: IsoDate,
  /** Register id of the better resistor. */
  against: Id,
  ratio: DecimalText,
  /** Standard uncertainty of the ratio. */
  uRatio: z.number().nonnegative(),
  ohm: DecimalText,
  /** Relative standard uncertainty of `ohm`. */
  uRelative: z.number().nonnegative(),
  /** Relative difference from what was expected on the day with its expanded uncertainty (k = 2); null without a calibration. */
  expected: z
    .strictObject({ difference: z.number(), expanded: z.number().nonnegative(), agrees: z.boolean() })
    .nullable(),
  /** Id of the calibration that was made of it. */
  calibration: Id.optional(),
  session: z.string().optional(),
  signed: SignedWork.optional(),
  note: z.string().optional(),
})
export type ComparedResistor = z.output<typeof ComparedResistor>

export const Resistor = z.strictObject({
  id: Id,
  name: z.string(),
  maker: z.string().default(''),
  serial: z.string().default(''),
  nominalOhm: z.number().positive(),
  /** Temperature the resistor is kept at, degC, and its standard uncertainty, K. */
  keptAtC: z.number(),
  uKeptAtK: z.number().nonnegative(),
  maxCurrentMa: z.number().positive().optional(),
  calibrations: z.array(ResistorCalibration).default([]),
  comparisons: z.array(ComparedResistor).optional(),
  repairs: Repairs,
  note: z.string().optional(),
  outOfUse: OutOfUse.optional(),
})
export type Resistor = z.output<typeof Resistor>

export const BRIDGE_CHECK_KINDS = ['interchange', 'network', 'comparison', 'together'] as const
export const TAKEN_OUT = ['in-proportion', 'opposite-at-reciprocals'] as const

/** A dated check of a ratio bridge: by interchange, by networks of resistors, or by comparison with known ratios. */
export const BridgeCheckRecord = z.strictObject({
  id: Id,
  kind: z.enum(BRIDGE_CHECK_KINDS),
  date: IsoDate,
  /** The day of the next check. */
  due: IsoDate.optional(),
  /** Standard uncertainty of linearity that the check supports, absolute, in ratio. */
  linearityRatio: z.number().nonnegative(),
  /** Whether every result agrees with a bridge without error, within its expanded uncertainty. */
  agrees: z.boolean(),
  /** What was found, by name, in ratio unless the name says otherwise; `u` standard. */
  results: z
    .array(z.strictObject({ name: z.string(), value: z.number(), u: z.number().nonnegative() }))
    .min(1),
  /** Error over the ratio as shown, in ratio; standard uncertainty; in rising order of the ratio. */
  curve: z
    .array(z.strictObject({ ratio: z.number(), error: z.number(), u: z.number().nonnegative() }))
    .min(2)
    .optional(),
  /** Parts of the error that the check could not determine, so that they are not in the curve. */
  takenOut: z.array(z.enum(TAKEN_OUT)).optional(),
  /** Ratios are corrected by the curve from that day on; its uncertainty is what remains. */
  asCorrection: z.boolean().optional(),
  session: z.string().optional(),
  note: z.string().optional(),
})
export type BridgeCheckRecord = z.output<typeof BridgeCheckRecord>

/** What a meter's maker or certificate states of one range: half-widths, parts per million. */
export const MeterAccuracy = z.strictObject({
  quantity: z.enum(['V', 'ohm']),
  /** Top of the range, V or ohm. */
  range: z.number().positive(),
  readingPpm: z.number().nonnegative(),
  rangePpm: z.number().nonnegative(),
  /** Of the reading for each kelvin beyond the room that the figures hold for, and how far from it the room may be, K. */
  perKelvinPpm: z.number().nonnegative().default(0),
  withinK: z.number().nonnegative().default(0),
  /** Where the figures stand. */
  source: z.string().min(1),
})
export type MeterAccuracy = z.output<typeof MeterAccuracy>

export const InstrumentRecord = z.strictObject({
  id: Id,
  name: z.string(),
  role: z.enum(['ratio-bridge', 'scanner', 'bath', 'meter', 'environment']),
  maker: z.string().default(''),
  model: z.string().default(''),
  serial: z.string().default(''),
  /** Ratio bridges: linearity and noise as standard uncertainties of the ratio, resolution as the last digit shown. */
  bridge: z
    .strictObject({
      linearityRatio: z.number().nonnegative(),
      resolutionRatio: z.number().nonnegative(),
      noiseRatio: z.number().nonnegative().optional(),
      lowestRatio: z.number().nonnegative().default(0),
      highestRatio: z.number().positive(),
    })
    .optional(),
  /** Meters: their accuracy, by range. */
  accuracy: z.array(MeterAccuracy).optional(),
  calibrated: IsoDate.optional(),
  due: IsoDate.optional(),
  certificate: z.string().optional(),
  /** Who calibrated it, and by what right. */
  laboratory: z.string().optional(),
  accreditation: Accreditation,
  /** Checks of a ratio bridge, dated. */
  checks: z.array(BridgeCheckRecord).optional(),
  repairs: Repairs,
  note: z.string().optional(),
  outOfUse: OutOfUse.optional(),
})
export type InstrumentRecord = z.output<typeof InstrumentRecord>

export const Fluid = z.strictObject({
  id: Id,
  name: z.string(),
  lowC: z.number(),
  highC: z.number(),
  /** Open-cup or closed-cup flash point as the maker's data sheet gives it. */
  flashPointC: z.number().optional(),
  /** Setpoints stay below flash point less this, K. */
  marginK: z.number().nonnegative().default(20),
  cautions: z.array(z.string()).default([]),
})
export type Fluid = z.output<typeof Fluid>

/** The lasting records. A session keeps a snapshot of the entries it used. */
export const Register = z.strictObject({
  thermometers: z.array(Thermometer).default([]),
  resistors: z.array(Resistor).default([]),
  instruments: z.array(InstrumentRecord).default([]),
  fluids: z.array(Fluid).default([]),
  /** Of a session those that its sequence names; else what a plateau was taken in stands with the check that takes it. */
  cells: z.array(Cell).optional(),
  baths: z.array(Bath).optional(),
})
export type Register = z.output<typeof Register>

/** The calibration in force on a date: the newest not after it. */
export function inForce<C extends { date: string }>(
  calibrations: readonly C[],
  isoDate: string,
): C | undefined {
  let found: C | undefined
  for (const calibration of calibrations) {
    if (calibration.date <= isoDate && (!found || calibration.date >= found.date)) found = calibration
  }
  return found
}
