import { at, first, last } from '../base/lists.ts'
import type { BridgeRequest, CheckRequest, FixedPointsRequest } from '../contract/check-request.ts'
import { said } from '../messages/said.ts'
import {
  type BridgeCheckRecord,
  type ComparedResistor,
  type InstrumentRecord,
  inForce,
  type Resistor,
  type Thermometer,
  type ThermometerCalibration,
} from '../records/register.ts'
import { ComparisonError } from '../results/uncertainty-error.ts'
import { calibrationOfRequest, evidenceOf } from './answer-check.ts'
import { checkByInterchange, checkByKnownRatios, linearityOfInterchange } from './bridge-check.ts'
import { bridgeCurve, TAKEN_OUT_WORDS, type TakenOut } from './bridge-curve.ts'
import { bridgeTerms } from './bridge-terms.ts'
import type { FixedPointCalibration } from './fixed-point-calibration.ts'
import { nextDue } from './next-due.ts'
import { compareResistor } from './resistor-check.ts'

type ResistorRequest = Extract<CheckRequest, { check: 'resistor' }>

/** An id that none of the entries has: the stem, or the stem with a number behind it. */
export function freeId(stem: string, entries: readonly { readonly id: string }[]): string {
  for (let n = 1; ; n++) {
    const id = n === 1 ? stem : `${stem}-${n}`
    if (!entries.some((entry) => entry.id === id)) return id
  }
}

const besides = ({ session, note }: { session?: string | undefined; note?: string | undefined }) => ({
  ...(session !== undefined && { session }),
  ...(note !== undefined && { note }),
})

/** The due date of a new entry, after its own day. Throws ComparisonError 'bad-input' where it is not. */
function dueField(
  date: string,
  given: string | undefined,
  earlier: readonly { readonly date: string; readonly due?: string | undefined }[],
): { due?: string } {
  const due = nextDue(date, given, earlier)
  if (due === undefined) return {}
  if (due > date) return { due }
  throw new ComparisonError('bad-input', said('next-time-before-the-work', { due, date }), { date, due })
}

type Found = Pick<
  BridgeCheckRecord,
  'kind' | 'linearityRatio' | 'agrees' | 'results' | 'curve' | 'takenOut' | 'asCorrection'
>

const KINDS = {
  interchange: 'interchange',
  networks: 'network',
  ratios: 'comparison',
  bridge: 'together',
} as const
/** Eight digits of an error are far below its uncertainty. */
const CURVE_DIGITS = 8

/** Whether an error is zero within its expanded uncertainty, k = 2. */
const within = ({ error, u }: { error: number; u: number }) => Math.abs(error) <= 2 * u

function foundBy(request: BridgeRequest): Found {
  const { curve, checked, takenOut, linearityRatio } = bridgeCurve(evidenceOf(request))
  const digits = (value: number) => Number(value.toPrecision(CURVE_DIGITS))
  const common = {
    kind: KINDS[request.check],
    linearityRatio,
    agrees: checked.every(within),
    ...(curve.length > 1 && {
      curve: curve.map(({ ratio, error, u }) => ({
        ratio: digits(ratio),
        error: digits(error),
        u: digits(u),
      })),
    }),
    ...(takenOut.length > 0 && { takenOut: [...takenOut] }),
  }
  const errors = checked.map(({ name, error, u }) => ({ name: `error at ${name}`, value: error, u }))
  switch (request.check) {
    case 'interchange': {
      const pairs = checkByInterchange(request.pairs)
      return {
        ...common,
        linearityRatio: linearityOfInterchange(request.pairs),
        agrees: pairs.every((p) => p.agrees),
        results: pairs.map((p) => ({
          name: `${p.name}: product less 1`,
          value: p.departure,
          u: p.expanded / 2,
        })),
      }
    }
    case 'networks': {
      const { terms } = bridgeTerms(evidenceOf(request).networks, request.powers)
      return {
        ...common,
        results: [
          ...terms.map(({ power, value, u }) => ({ name: `term in n^${power}`, value, u })),
          ...errors,
        ],
      }
    }
    case 'ratios': {
      const pairs = checkByKnownRatios(request.pairs)
      return {
        ...common,
        agrees: pairs.every((p) => p.agrees),
        results: pairs.map((p) => ({
          name: `${p.name}: shown less known`,
          value: p.error,
          u: p.expanded / 2,
        })),
      }
    }
    case 'bridge': {
      if (request.asCorrection) refuseCorrection(takenOut, curve.length)
      return { ...common, results: errors, ...(request.asCorrection && { asCorrection: true }) }
    }
  }
}

/** A curve that lacks a part of the error cannot correct for it. Throws ComparisonError 'not-determined'. */
function refuseCorrection(takenOut: readonly TakenOut[], points: number): void {
  if (takenOut.length === 0 && points > 1) return
  throw new ComparisonError(
    'not-determined',
    said('check-corrects-nothing', {
      takenOut: takenOut.map((part) => TAKEN_OUT_WORDS[part]).join(' ') || 'It was made at one ratio only.',
    }),
    { takenOut },
  )
}

/**
 * A bridge's entry with a check of it added, dated. Throws ComparisonError 'bad-input' where the register states no linearity
 * of the instrument, for a check widens a stated figure and does not replace it; what the check itself throws.
 */
export function withBridgeCheck(
  instrument: InstrumentRecord,
  request: BridgeRequest,
  today: string,
): { readonly entry: InstrumentRecord; readonly check: BridgeCheckRecord } {
  if (!instrument.bridge) {
    throw new ComparisonError('bad-input', said('bridge-without-limits', { instrument: instrument.name }), {
      instrument: instrument.id,
    })
  }
  const date = request.date ?? today
  const found = foundBy(request)
  const checks = instrument.checks ?? []
  const check: BridgeCheckRecord = {
    id: freeId(`${found.kind}-${date}`, checks),
    date,
    ...dueField(date, request.due, checks),
    ...found,
    ...besides(request),
  }
  return { entry: { ...instrument, checks: [...checks, check] }, check }
}

/** A resistor's entry with a comparison added, and with the calibration it makes where that is wanted. */
export function withComparison(request: ResistorRequest): {
  readonly entry: Resistor
  readonly compared: ComparedResistor
} {
  const { resistor, better, date, ratio, uRatio } = request
  if (better.id === resistor.id) {
    throw new ComparisonError('bad-input', said('compared-with-itself', { over: resistor.name }), {
      resistor: resistor.id,
    })
  }
  const { ohm, uRelative, expected, calibration } = compareResistor(request)
  const id = freeId(calibration.id, resistor.calibrations)
  const earlier = resistor.comparisons ?? []
  const compared: ComparedResistor = {
    id: freeId(`compared-${date}`, earlier),
    date,
    against: better.id,
    ratio: ratio.toPrecision(12),
    uRatio,
    ohm: ohm.toPrecision(12),
    uRelative,
    expected: expected && {
      difference: expected.difference,
      expanded: expected.expanded,
      agrees: expected.agrees,
    },
    ...(request.asCalibration && { calibration: id }),
    ...besides(request),
  }
  return {
    compared,
    entry: {
      ...resistor,
      comparisons: [...earlier, compared],
      ...(request.asCalibration && {
        calibrations: [
          ...resistor.calibrations,
          { ...calibration, id, ...dueField(date, request.due, resistor.calibrations) },
        ],
      }),
    },
  }
}

/** Temperatures at which a fixed-point calibration states its uncertainty, besides the points themselves. */
const STATED_STEPS = 10

const rounded = (value: number, decimals: number) => Number(value.toFixed(decimals))

type Its90 = Extract<ThermometerCalibration['conversion'], { kind: 'its90' }>
/** Ten digits of a coefficient are a picokelvin. */
const COEFFICIENT_DIGITS = 10

/** Coefficients as a certificate would print them, not with every digit of a computer's number. */
function withDigits(conversion: Its90): Its90 {
  const printed = <C extends Its90['coefficients']>(coefficients: C): C =>
    Object.fromEntries(
      Object.entries(coefficients).map(([name, value]) => [
        name,
        value === undefined ? value : Number(value).toExponential(COEFFICIENT_DIGITS - 1),
      ]),
    ) as C
  return {
    ...conversion,
    coefficients: printed(conversion.coefficients),
    ...(conversion.joined && {
      joined: { ...conversion.joined, coefficients: printed(conversion.joined.coefficients) },
    }),
    ...(conversion.range && {
      range: [rounded(conversion.range[0], 6), rounded(conversion.range[1], 6)] as [number, number],
    }),
  }
}

/** The covariance of a set, with every plateau's error and R(0.01 degC)'s in it, where the fit knew only its own points'. */
function withCovariance(conversion: Its90, { names, matrix }: FixedPointCalibration['covariance']): Its90 {
  const block = (stem: string) => {
    const own = names.flatMap((name, i) =>
      name.startsWith('joined.') === (stem !== '') ? [{ name: name.slice(stem.length), i }] : [],
    )
    return {
      names: own.map(({ name }) => name),
      matrix: own.map((a) => own.map((b) => at(at(matrix, a.i), b.i))),
    }
  }
  return {
    ...conversion,
    covariance: block(''),
    ...(conversion.joined && { joined: { ...conversion.joined, covariance: block('joined.') } }),
  }
}

/** What a plateau states, without what it leaves open. */
const statedBy = (plateau: FixedPointsRequest['plateaus'][number]): Record<string, number | string> =>
  Object.fromEntries(
    Object.entries(plateau).flatMap(([key, value]) => (value === undefined ? [] : [[key, value] as const])),
  )

/** A thermometer's entry with the calibration that a set of plateaus makes, and the R(WTP) it rests on. */
export function withFixedPoints(
  thermometer: Thermometer,
  request: FixedPointsRequest,
  today: string,
): { readonly entry: Thermometer; readonly calibration: ThermometerCalibration } {
  const found = calibrationOfRequest(request)
  const date = request.date ?? today
  const { conversion } = found.fit
  if (conversion.kind !== 'its90') {
    throw new ComparisonError('bad-input', said('plateaus-make-its90-only', {}), {})
  }
  const uRWtp = found.coefficients.find((c) => c.name === 'rWtp')!.u
  const rWtp = found.rWtp.toPrecision(11)
  const celsius = found.points.map((p) => rounded(p.t90C, 6))
  const [lowC, highC] = [Math.min(0.01, ...celsius), Math.max(0.01, ...celsius)]
  const between = Array.from({ length: STATED_STEPS - 1 }, (_, i) =>
    rounded(lowC + ((highC - lowC) * (i + 1)) / STATED_STEPS, 1),
  )
  const steps = [lowC, ...between, highC]
  const stated = [...new Set([...steps, ...celsius])].toSorted((a, b) => a - b)
  const calibration: ThermometerCalibration = {
    id: freeId(`${thermometer.id}-fixed-points-${date}`, thermometer.calibrations),
    date,
    ...dueField(date, request.due, thermometer.calibrations),
    certificate: request.certificate,
    laboratory: request.laboratory,
    conversion: {
      ...withDigits(withCovariance(conversion, found.covariance)),
      rWtp,
      uRWtp: Number(uRWtp.toPrecision(4)),
    },
    uncertainty: {
      k: 2,
      points: stated.map((t) => ({
        celsius: t,
        expandedMk: Number((2000 * found.uncertaintyK(t)).toPrecision(4)),
      })),
    },
    lowC,
    highC,
    atZeroCurrent: request.plateaus.every((p) => p.selfHeatingMk > 0),
    fixedPoints: {
      plateaus: request.plateaus.map(statedBy),
      coverage: request.coverage,
      ...(request.subrange !== undefined && { subrange: request.subrange }),
    },
    ...(request.note !== undefined && { note: request.note }),
  }
  const wtp = {
    date,
    ohm: rWtp,
    uOhm: Number(uRWtp.toPrecision(4)),
    note: `from the plateaus of ${calibration.id}`,
    ...(request.session !== undefined && { session: request.session }),
  }
  return {
    calibration,
    entry: {
      ...thermometer,
      calibrations: [...thermometer.calibrations, calibration],
      wtpHistory: [...thermometer.wtpHistory, wtp],
    },
  }
}

const inRatio = (ratio: number) => `${Number((ratio * 1e9).toPrecision(3))} × 10⁻⁹`

/** What a bridge's check means for its budgets, in words. */
export function bridgeCheckWords(check: BridgeCheckRecord, instrument: InstrumentRecord): string {
  const stated = instrument.bridge!.linearityRatio
  const larger = check.linearityRatio > stated
  const newest = inForce(instrument.checks ?? [], '9999-12-31')
  if (check.asCorrection) {
    return `Ratios of ${instrument.name} are corrected by the curve of ${check.date} from that day on, from ${first(check.curve!).ratio.toPrecision(3)} to ${last(check.curve!).ratio.toPrecision(3)}; its uncertainty there takes the place of the stated ${inRatio(stated)}.`
  }
  return (
    `The check of ${instrument.name} on ${check.date} supports a linearity of ${inRatio(check.linearityRatio)} in ratio ` +
    `(standard); the register states ${inRatio(stated)}. ` +
    (newest?.date !== check.date
      ? 'A newer check is in force.'
      : larger
        ? 'Budgets take the larger, found figure from that day on.'
        : 'Budgets keep the stated figure.')
  )
}
