import { utcDay } from '../../app/base/times.ts'
import {
  Fluid,
  type InstrumentRecord,
  type MeterAccuracy,
  Register,
  type Resistor,
  type Thermometer,
} from '../../app/records/register.ts'
import { referenceSlope } from '../physics/platinum.ts'
import { randomStream } from '../physics/randomness.ts'
import type { ResistorPhysics } from '../physics/resistor.ts'
import type { InstrumentDesign, ResistorDesign, Scenario, ThermometerDesign } from '../scenarios/scenario.ts'
import { drawCertificate, INDIUM_C, type ThermometerTruth, TIN_C, U_WTP_K } from './truth.ts'

const LABORATORY = 'Quennick Calibration House (invented)'
const ACCREDITATION = 'no accreditation'
const DAY_US = 86_400e6

/** ISO date so many days before the lab's start. */
function daysBefore(utcUs: number, days: number): string {
  return utcDay(utcUs - days * DAY_US)
}

/** What is known of a bridge's ratio: also what its electronics are built from. */
export const RATIO_KNOWN = {
  'rb-8': { linearityRatio: 5e-8, resolutionRatio: 1e-9, noiseV: 12e-9, highestRatio: 4.2 },
  'rb-3': { linearityRatio: 3e-7, resolutionRatio: 1e-8, noiseV: 40e-9, highestRatio: 2.2 },
} as const

/** Standard deviations the meter's errors are drawn from: relative gain, and volt. */
export const METER_KNOWN = { ohmGain: 2e-6, voltGain: 2e-6, voltOffset: 1e-7 }
/** Standard deviation of the temperature of the reference junction, K; the bench states it. */
export const JUNCTION_KNOWN_K = 0.005

const RESISTOR_KNOWN = {
  /** Relative expanded uncertainty, k = 2. */
  expandedRelative: 4e-7,
  alphaPerK: 1.5e-6,
  betaPerK2: -3e-8,
  driftPerYear: 2e-7,
  uDriftPerYear: 2e-7,
  celsius: 20,
  keptAtC: 20,
  uKeptAtK: 0.05,
  wanderK: 0.01,
  ageDays: 200,
}

/** A reference resistor as it truly is on the lab's first day, and its register entry. */
export function drawResistor(
  design: ResistorDesign,
  seed: number,
  startUtcUs: number,
): { physics: ResistorPhysics; entry: Resistor } {
  const known = {
    ...RESISTOR_KNOWN,
    ...(design.expandedRelative && { expandedRelative: design.expandedRelative }),
  }
  const stream = randomStream(seed, `resistor certificate ${design.id}`)
  const calibrated = design.nominalOhm * (1 + 5e-6 * stream.normal())
  const trueThen = calibrated * (1 + (known.expandedRelative / 2) * stream.normal())
  const drift = known.driftPerYear + known.uDriftPerYear * stream.normal()
  const date = daysBefore(startUtcUs, known.ageDays)
  const years = (startUtcUs / 1000 - Date.parse(date)) / (365.25 * 86_400_000)
  const { alphaPerK, betaPerK2, celsius } = known
  return {
    physics: {
      id: design.id,
      ohm: trueThen * (1 + drift * years),
      celsius,
      alphaPerK,
      betaPerK2,
      keptAtC: known.keptAtC + known.uKeptAtK * stream.normal(),
      wanderK: known.wanderK,
      wanderMemoryS: 3600,
    },
    entry: {
      id: design.id,
      name: design.name,
      maker: 'Quennick',
      serial: design.serial,
      nominalOhm: design.nominalOhm,
      keptAtC: known.keptAtC,
      uKeptAtK: known.uKeptAtK,
      maxCurrentMa: design.nominalOhm > 1000 ? 0.3 : 10,
      calibrations: [
        {
          id: `${design.id}-1`,
          date,
          due: daysBefore(startUtcUs, known.ageDays - 365),
          certificate: `QCH-R-${design.serial}`,
          laboratory: LABORATORY,
          accreditation: ACCREDITATION,
          ohm: calibrated.toPrecision(10),
          celsius,
          alphaPerK,
          betaPerK2,
          driftPerYear: known.driftPerYear,
          expandedRelative: known.expandedRelative,
          k: 2,
          uDriftPerYear: known.uDriftPerYear,
        },
      ],
    },
  }
}

/** The register entry of a thermometer: with its certificate where it has one, else nominal data only. */
export function thermometerEntry(
  design: ThermometerDesign,
  truth: ThermometerTruth,
  seed: number,
  startUtcUs: number,
): Thermometer {
  const entry: Thermometer = {
    id: design.id,
    name: design.name,
    kind: design.kind,
    maker: 'Quennick',
    model: design.serial.replace(/-.*/, ''),
    serial: design.serial,
    owner: 'Quennick Temperature Laboratory (invented)',
    lowC: design.lowC,
    highC: design.highC,
    currentMa: design.currentMa,
    ...(design.nominalOhm === undefined ? {} : { nominalOhm: design.nominalOhm }),
    ...(design.selfHeatingMk > 0 ? { selfHeatingMk: design.selfHeatingMk } : {}),
    ...(design.fit ? { fit: design.fit } : {}),
    ...(design.thermocoupleType ? { thermocoupleType: design.thermocoupleType } : {}),
    calibrations: [],
    wtpHistory: [],
  }
  if (!design.certified || truth.curve.kind !== 'its90') return entry
  const certificate = drawCertificate(truth.curve, seed, design.id)
  const stream = randomStream(seed, `wtp ${design.id}`)
  const uOhm = U_WTP_K * referenceSlope(0.01) * truth.curve.rWtp
  const measured = () => ((truth.curve as { rWtp: number }).rWtp + uOhm * stream.normal()).toFixed(7)
  const date = daysBefore(startUtcUs, 120)
  const first = measured()
  const round = (value: number) => Number(value.toPrecision(12))
  return {
    ...entry,
    calibrations: [
      {
        id: `${design.id}-1`,
        date,
        due: daysBefore(startUtcUs, 120 - 730),
        certificate: `QCH-T-${design.serial}`,
        laboratory: LABORATORY,
        accreditation: ACCREDITATION,
        conversion: {
          kind: 'its90',
          rWtp: first,
          uRWtp: round(uOhm),
          subrange: '3.3.2.3',
          coefficients: { a: certificate.a.toExponential(9), b: certificate.b.toExponential(9) },
          covariance: { names: ['a', 'b'], matrix: certificate.covariance.map((row) => row.map(round)) },
        },
        uncertainty: {
          k: 2,
          points: [0.01, 10, 29.7646, 50, 75, 100, 125, INDIUM_C, 190, TIN_C].map((celsius) => ({
            celsius,
            expandedMk: round(2000 * certificate.uK(celsius)),
          })),
        },
        lowC: 0.01,
        highC: TIN_C,
        note: 'The uncertainty is that of the coefficients; that of R(WTP) stands with R(WTP) and comes on top.',
      },
    ],
    wtpHistory: [
      { date, ohm: first, uOhm: round(uOhm), note: 'from the certificate' },
      { date: daysBefore(startUtcUs, 3), ohm: measured(), uOhm: round(uOhm), note: 'own cell' },
    ],
  }
}

/** Half-widths whose standard uncertainties are what the meter's errors are drawn from. */
function meterAccuracy(): MeterAccuracy[] {
  const source = 'data sheet of the DM-7 (invented)'
  const root3 = Math.sqrt(3)
  const ppm = (standard: number) => Number((standard * root3 * 1e6).toPrecision(3))
  return [
    {
      quantity: 'V',
      range: 0.1,
      readingPpm: ppm(METER_KNOWN.voltGain),
      rangePpm: ppm(METER_KNOWN.voltOffset / 0.1),
      perKelvinPpm: 0,
      withinK: 0,
      source,
    },
    {
      quantity: 'ohm',
      range: 1000,
      readingPpm: ppm(METER_KNOWN.ohmGain),
      rangePpm: 0,
      perKelvinPpm: 0,
      withinK: 0,
      source,
    },
  ]
}

function instrumentEntry(design: InstrumentDesign, startUtcUs: number): InstrumentRecord {
  const model = design.kind.toUpperCase()
  const roles = {
    rb: 'ratio-bridge',
    cs: 'scanner',
    tb: 'bath',
    fc: 'bath',
    dm: 'meter',
    es: 'environment',
  } as const
  const entry: InstrumentRecord = {
    id: design.id,
    name: `${model} ${design.serial}`,
    role: roles[design.kind.slice(0, 2) as keyof typeof roles],
    maker: 'Quennick',
    model,
    serial: design.serial,
    calibrated: daysBefore(startUtcUs, 90),
    due: daysBefore(startUtcUs, 90 - 365),
    certificate: `QCH-I-${design.serial}`,
    laboratory: LABORATORY,
    accreditation: ACCREDITATION,
  }
  if (design.kind === 'dm-7') return { ...entry, accuracy: meterAccuracy() }
  if (design.kind !== 'rb-8' && design.kind !== 'rb-3') return entry
  const { linearityRatio, resolutionRatio, highestRatio } = RATIO_KNOWN[design.kind]
  return { ...entry, bridge: { linearityRatio, resolutionRatio, lowestRatio: 0, highestRatio } }
}

const SILICONE = Fluid.parse({
  id: 'silicone-20',
  name: 'Silicone oil, 20 mm²/s (invented data sheet)',
  lowC: -20,
  highC: 180,
  flashPointC: 230,
  marginK: 40,
  cautions: [
    'Hot oil burns and can ignite: gloves, goggles, a lid, and an extraction hood above 100 °C.',
    'Water in hot oil spatters: dry every thermometer before it goes in.',
  ],
})

/** Register id of a scenario's bath. */
export const bathEntryId = ({ name }: Scenario): string => `bath-${name}`

/** Everything a metrologist would be handed with this bench. */
export function paperwork(
  scenario: Scenario,
  thermometers: Thermometer[],
  resistors: Resistor[],
  startUtcUs: number,
): Register {
  return Register.parse({
    thermometers,
    resistors,
    instruments: scenario.instruments.map((design) => instrumentEntry(design, startUtcUs)),
    fluids: scenario.bench.fluid === 'silicone' ? [SILICONE] : [],
    ...(scenario.bench.bath !== undefined && {
      baths: [{ id: bathEntryId(scenario), name: scenario.bench.bath, maker: 'Quennick' }],
    }),
  })
}
