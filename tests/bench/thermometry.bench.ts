import type { Conversion, TableConversion } from '../../app/kinds/conversion.ts'
import { prepare } from '../../app/thermometry/convert.ts'
import { exactToTemperature } from '../../app/thermometry/exact.ts'
import { callendarVanDusenRatio, IEC60751 } from '../../app/thermometry/iec60751.ts'
import { deviationFunction } from '../../app/thermometry/its90-deviation.ts'
import { referenceRatioHigh, referenceRatioLow } from '../../app/thermometry/its90-reference.ts'
import { subrange } from '../../app/thermometry/its90-subranges.ts'
import { thermocoupleEmf } from '../../app/thermometry/thermocouple.ts'
import type { Row } from './row.ts'

const POINTS = 20_000
const ROUNDS = 25

interface Kind {
  readonly name: string
  readonly conversion: Conversion
  readonly low: number
  readonly high: number
  /** The naive way: what it is, and how it finds a temperature from the sensor's own signal (W, R/R0, ohm, mV). */
  readonly against: string
  readonly naive: (signal: number) => number
  readonly goal?: number
}

const LOW_SET = { a: -1.8e-4, b: 1.5e-5 }
const HIGH_SET = { a: -1.4e-4, b: -6.8e-6, c: 9.4e-7 }
const THERMISTOR = [1.4e-3, 2.37e-4, 9.9e-8] as const
const QUARTIC = [-242, 2.2, 2.5e-3, -1e-6, 1e-9]

/** Invented coefficients of the size real ones have, and the range each kind is tried over, degC. */
function kinds(): Kind[] {
  const lowDeviation = deviationFunction(subrange('3.3.1.3'), LOW_SET)
  const highDeviation = deviationFunction(subrange('3.3.2.1'), HIGH_SET)
  const low = bisection(referenceRatioLow, -189, 0)
  const high = bisection(referenceRatioHigh, 0, 660)
  const iecRatio = (t: number) => callendarVanDusenRatio(IEC60751, t)
  const points = table(200)
  const couple = (type: 'K' | 'S', lowC: number, highC: number): Kind => ({
    name: `thermocouple ${type}`,
    conversion: { kind: 'thermocouple', type, referenceJunction: 23 },
    low: lowC,
    high: highC,
    against: 'bisection',
    naive: bisection((t) => thermocoupleEmf(type, t), lowC, highC),
    goal: 10,
  })
  return [
    {
      name: 'ITS-90, 0 to 660 degC',
      conversion: { kind: 'its90', rWtp: 25.5, subrange: '3.3.2.1', coefficients: HIGH_SET },
      low: 0,
      high: 660,
      against: 'bisection',
      naive: (w) => high(w - highDeviation.value(w)),
      goal: 18,
    },
    {
      name: 'ITS-90, -189 to 0 degC',
      conversion: { kind: 'its90', rWtp: 25.5, subrange: '3.3.1.3', coefficients: LOW_SET },
      low: -189,
      high: 0,
      against: 'bisection',
      naive: (w) => low(w - lowDeviation.value(w)),
      goal: 18,
    },
    {
      name: 'IEC 60751',
      conversion: { kind: 'iec60751' },
      low: -200,
      high: 850,
      against: 'bisection',
      naive: bisection(iecRatio, -200, 850),
    },
    {
      name: 'thermistor, three terms',
      conversion: { kind: 'steinhart-hart', coefficients: [...THERMISTOR] },
      low: -40,
      high: 150,
      against: 'formula by powers',
      naive: (ohm) =>
        1 / (THERMISTOR[0] + THERMISTOR[1] * Math.log(ohm) + THERMISTOR[2] * Math.log(ohm) ** 3) - 273.15,
    },
    {
      name: 'thermistor, beta',
      conversion: { kind: 'beta', r0: 10_000, beta: 3950 },
      low: -40,
      high: 150,
      against: 'bisection',
      naive: bisection((t) => -10_000 * Math.exp(3950 * (1 / (t + 273.15) - 1 / 298.15)), -40, 150, -1),
    },
    couple('K', -200, 1372),
    couple('S', -50, 1768),
    {
      name: 'polynomial of degree 4',
      conversion: { kind: 'polynomial', coefficients: QUARTIC },
      low: -200,
      high: 200,
      against: 'sum of powers',
      naive: (x) => QUARTIC.reduce((sum, c, i) => sum + c * x ** i, 0),
    },
    {
      name: 'table of 200 points',
      conversion: points,
      low: -200,
      high: 850,
      against: 'search from the start',
      naive: tableSearch(points),
    },
  ]
}

function tableSearch({ x, y }: TableConversion) {
  const xs = x.map(Number)
  const ys = y.map(Number)
  return (signal: number): number => {
    let k = 0
    while (k < xs.length - 2 && xs[k + 1]! < signal) k++
    return ys[k]! + ((signal - xs[k]!) * (ys[k + 1]! - ys[k]!)) / (xs[k + 1]! - xs[k]!)
  }
}

/** A resistance table in steps, as a sensor without a formula would have. */
function table(count: number): TableConversion {
  const standard = prepare({ kind: 'iec60751' })
  const y = Array.from({ length: count }, (_, i) => -200 + (1050 * i) / (count - 1))
  return { kind: 'table', x: y.map((t) => standard.toSignal(t).value), y }
}

type Convert = (signal: number) => number
type Loop = (signals: Float64Array, convert: Convert) => number
type Run = readonly [loop: Loop, signals: Float64Array, convert: Convert]

// The same loop three times: shared, it would see several callees and inline none, which costs a fast function most.
const ourLoop: Loop = (signals, convert) => {
  let sum = 0
  for (let i = 0; i < signals.length; i++) sum += convert(signals[i]!)
  return sum
}
const naiveLoop: Loop = (signals, convert) => {
  let sum = 0
  for (let i = 0; i < signals.length; i++) sum += convert(signals[i]!)
  return sum
}
const wholeLoop: Loop = (signals, convert) => {
  let sum = 0
  for (let i = 0; i < signals.length; i++) sum += convert(signals[i]!)
  return sum
}

/**
 * Calls per second of several functions, their rounds taken in turn so that all share the same weather; the best round
 * of each counts, since other work on the machine can only make a round slower.
 */
function rates(...runs: Run[]): number[] {
  const best = runs.map(() => Number.POSITIVE_INFINITY)
  for (let round = 0; round < ROUNDS; round++) {
    runs.forEach(([loop, signals, convert], i) => {
      const start = performance.now()
      const sum = loop(signals, convert)
      best[i] = Math.min(best[i]!, performance.now() - start)
      if (Number.isNaN(sum)) throw new Error('a conversion under test gave no number')
    })
  }
  return runs.map(([, signals], i) => signals.length / (best[i]! / 1000))
}

/** Halves the range until its width is spent; `sign` is -1 where the signal falls with temperature. */
function bisection(forward: (t90: number) => number, low: number, high: number, sign = 1) {
  return (signal: number): number => {
    const target = sign * signal
    let a = low
    let b = high
    while (b - a > 1e-12) {
      const middle = a + (b - a) / 2
      if (middle === a || middle === b) break
      if (forward(middle) < target) a = middle
      else b = middle
    }
    return a + (b - a) / 2
  }
}

function signalsOf(conversion: Conversion, low: number, high: number): Float64Array {
  const prepared = prepare(conversion)
  // A stride that is prime to the number of points, so that neighbours in time are not neighbours in temperature.
  return Float64Array.from({ length: POINTS }, (_, i) => {
    const place = (i * 7919) % POINTS
    return prepared.toSignal(low + ((high - low) * (place + 0.5)) / POINTS).value
  })
}

function againstNaive({ name, conversion, low, high, against, naive, goal }: Kind): Row {
  const { sensor, toTemperature, ohmPerRatio } = prepare(conversion)
  const signals = signalsOf(conversion, low, high)
  const scale = sensor.signal === 'ratio' ? ohmPerRatio! : 1
  const junction = sensor.junction ? sensor.junction.emf(sensor.junction.t90) : 0
  const [ours, other, whole] = rates(
    [ourLoop, signals, (signal) => sensor.temperature(signal / scale + junction)],
    [naiveLoop, signals.subarray(0, POINTS / 10), (signal) => naive(signal / scale + junction)],
    [wholeLoop, signals, (signal) => toTemperature(signal).value],
  ) as [number, number, number]
  const worst = worstError(conversion, signals)
  const ratio = ours / other
  const platinum = conversion.kind === 'its90'
  return {
    name: `signal to t90, ${name}, against ${against}`,
    ours,
    other,
    unit: 'conversions/s',
    ratio,
    goal: goal === undefined ? '' : `>= ${goal}${platinum ? ', error <= 1e-12 degC' : ''}`,
    met: goal === undefined ? null : ratio >= goal && (!platinum || worst <= 1e-12),
    note: `with marks and slope ${(whole / 1e6).toFixed(2)} M/s; error against 30 digits ${worst.toExponential(1)} degC`,
  }
}

/** Largest difference from the exact path over a sample, degC. */
function worstError(conversion: Conversion, signals: Float64Array): number {
  const prepared = prepare(conversion)
  let worst = 0
  for (let i = 0; i < signals.length; i += 100) {
    const exact = Number(exactToTemperature(conversion, signals[i]!, {}, prepared).text)
    worst = Math.max(worst, Math.abs(prepared.toTemperature(signals[i]!).value - exact))
  }
  return worst
}

function exactAgainstDouble({ name, conversion, low, high }: Kind): Row {
  const prepared = prepare(conversion)
  const signals = signalsOf(conversion, low, high).subarray(0, 200)
  const [ours, other] = rates(
    [ourLoop, signals, (signal) => exactToTemperature(conversion, signal, {}, prepared).value],
    [wholeLoop, signals, (signal) => prepared.toTemperature(signal).value],
  ) as [number, number]
  return {
    name: `thirty digits, ${name}, against doubles`,
    ours,
    other,
    unit: 'conversions/s',
    ratio: ours / other,
    goal: '',
    met: null,
  }
}

/** Conversions per second of every kind, each against the naive way in the same run. */
export async function bench(): Promise<Row[]> {
  const all = kinds()
  const exact = all.filter(
    ({ conversion }) => conversion.kind === 'its90' || conversion.kind === 'thermocouple',
  )
  return [...all.map(againstNaive), ...exact.map(exactAgainstDouble)]
}
