import { describe, expect, it } from 'vitest'
import { type CalibrationPoint, fitThermometer } from '../../../app/fit/fit.ts'
import { answerFitLine } from '../../../app/fit/fit-request.ts'
import type { Conversion, Its90Conversion } from '../../../app/kinds/conversion.ts'
import { seededRandom } from '../../../app/statistics/random.ts'
import { prepare } from '../../../app/thermometry/convert.ts'
import { callendarVanDusenRatio, IEC60751 } from '../../../app/thermometry/iec60751.ts'
import { its90Sensor } from '../../../app/thermometry/its90.ts'
import { SUBRANGES } from '../../../app/thermometry/its90-subranges.ts'
import { thermistorResistance } from '../../../app/thermometry/thermistor.ts'
import examples from '../../../app/validation/figures/its90-worked-examples.json' with { type: 'json' }
import thermistors from '../../../app/validation/figures/thermistor-examples.json' with { type: 'json' }

const R_WTP = 25.5
const largest = (values: readonly number[]) => Math.max(...values.map(Math.abs))

/** Points of an invented thermometer; W is 1 at the triple point of water by definition. */
function pointsOf(conversion: Its90Conversion, temperatures: readonly number[]): CalibrationPoint[] {
  const sensor = its90Sensor(conversion)
  return temperatures.map((t90C) => ({
    t90C,
    signal: R_WTP * (t90C === 0.01 ? 1 : sensor.signalAt(t90C)),
  }))
}

const SIZES: Readonly<Record<string, number>> = {
  a: -2e-4,
  b: 1.5e-5,
  c: 1e-6,
  d: 3e-6,
  c1: 2e-6,
  c2: -1e-6,
  c3: 3e-7,
  c4: 1e-7,
  c5: 2e-8,
}

describe('fitThermometer, its90', () => {
  it.each(SUBRANGES.map((range) => [range.section, range] as const))(
    'finds the coefficients of subrange %s exactly and by least squares',
    (section, range) => {
      const coefficients = Object.fromEntries(range.coefficients.map((name) => [name, SIZES[name]!]))
      const truth = { kind: 'its90', rWtp: R_WTP, subrange: section, coefficients } as Its90Conversion
      const low = Math.max(range.lowC, -259)
      const spread = (n: number) =>
        Array.from({ length: n }, (_, i) => low + ((range.highC - low) * (i + 0.5)) / n)
      // Where the d term acts, one point at aluminium says where it starts.
      const aluminium = range.coefficients.includes('d') ? [660.323, 700, 800, 900] : []
      for (const count of [range.coefficients.length, range.coefficients.length + 6]) {
        const temperatures = [0.01, ...aluminium, ...spread(count).filter((t) => Math.abs(t - 0.01) > 0.1)]
        const fit = fitThermometer({
          model: { kind: 'its90', subrange: section },
          points: pointsOf(truth, temperatures),
        })
        expect(largest(fit.residualsK)).toBeLessThan(1e-8)
        const again = its90Sensor(fit.conversion as Its90Conversion)
        const original = its90Sensor(truth)
        for (const t of spread(9)) {
          expect(Math.abs(again.signalAt(t) / original.signalAt(t) - 1)).toBeLessThan(1e-9)
        }
      }
    },
  )
  it('takes the narrowest subrange that holds the points', () => {
    const chosen = (temperatures: number[]) => {
      const { conversion } = fitThermometer({
        model: { kind: 'its90' },
        points: pointsOf(
          { kind: 'its90', subrange: '3.3.2.1', coefficients: { a: 0, b: 0, c: 0 } },
          temperatures,
        ),
      })
      return (conversion as Its90Conversion).subrange
    }
    expect(chosen([0.01, 29.7646])).toBe('3.3.2.5')
    expect(chosen([0.01, 100, 156])).toBe('3.3.2.4')
    expect(chosen([0.01, 100, 231.93])).toBe('3.3.2.3')
    expect(chosen([0.01, 100, 300, 419.54])).toBe('3.3.2.2')
    expect(chosen([0.01, 100, 300, 600])).toBe('3.3.2.1')
  })
  it('joins two subranges for points on both sides of the triple point of water', () => {
    const truth: Its90Conversion = {
      kind: 'its90',
      subrange: '3.3.1.3',
      coefficients: { a: -1e-4, b: -1e-5 },
      joined: { subrange: '3.3.2.2', coefficients: { a: -1.1e-4, b: -9e-6 } },
    }
    const fit = fitThermometer({
      model: { kind: 'its90' },
      points: pointsOf(truth, [-189, -100, -38.83, 0.01, 50, 231, 400]),
    })
    expect(fit.names).toEqual(['a', 'b', 'joined.a', 'joined.b'])
    expect(fit.coefficients['joined.b']).toBeCloseTo(-9e-6, 12)
    expect(fit.conversion).toMatchObject({
      subrange: '3.3.1.3',
      joined: { subrange: '3.3.2.2' },
      range: [-189, 400],
    })
    expect(fit.degreesOfFreedom).toBe(2)
    expect(fit.temperatureUncertainty(100)).toBeLessThan(1e-7)
  })
  it('brings a point near the triple point of water to it', () => {
    const truth: Its90Conversion = {
      kind: 'its90',
      subrange: '3.3.2.3',
      coefficients: { a: -0.018, b: -0.0001 },
    }
    const fit = fitThermometer({ model: { kind: 'its90' }, points: pointsOf(truth, [0, 50, 100, 200]) })
    // The reference function misses 1 at the triple point by 1.3 microkelvin, which is 1.3e-7 ohm here.
    expect(Math.abs(((fit.conversion as Its90Conversion).rWtp! as number) - R_WTP)).toBeLessThan(3e-7)
    expect(fit.coefficients.a).toBeCloseTo(-0.018, 6)
  })
  it('holds R(WTP) where it is given, and then counts the point there as an observation', () => {
    const truth: Its90Conversion = { kind: 'its90', subrange: '3.3.2.4', coefficients: { a: -1e-4 } }
    const points = pointsOf(truth, [0.01, 50, 100])
    const held = fitThermometer({ model: { kind: 'its90', rWtp: R_WTP, uRWtp: 1e-5 }, points })
    const found = fitThermometer({ model: { kind: 'its90' }, points })
    expect(held.degreesOfFreedom).toBe(2)
    expect(found.degreesOfFreedom).toBe(1)
    expect(held.conversion).toMatchObject({ rWtp: R_WTP, uRWtp: 1e-5, range: [0, 100] })
  })
  it('refuses in words where points do not determine the coefficients', () => {
    const points = [
      { t90C: 100, signal: 35 },
      { t90C: 200, signal: 44 },
    ]
    const attempt = (model: object, list: readonly CalibrationPoint[] = points) =>
      fitThermometer({ model: { kind: 'its90', ...model } as { kind: 'its90' }, points: list })
    expect(() => attempt({})).toThrow(/R\(WTP\) is not known/)
    expect(() => attempt({ rWtp: 25, subrange: '3.3.2.1' })).toThrow(
      /2 points cannot determine 3 coefficients \(a, b, c\)/,
    )
    expect(() => attempt({ rWtp: 25, subrange: '3.3.2.3' }, [points[0]!, points[0]!])).toThrow(
      /column b is a combination of a/,
    )
    expect(() => attempt({}, [{ t90C: 0.01, signal: 25 }])).toThrow(/no point besides/)
    expect(() => attempt({ rWtp: 25 }, [{ t90C: 1200, signal: 100 }])).toThrow(/No platinum subrange/)
    expect(() => attempt({ rWtp: 25, subrange: '3.3.9' })).toThrow(/no platinum subrange 3.3.9/)
    expect(() => attempt({ rWtp: 25 }, [{ t90C: 100, signal: 0 }])).toThrow(/above 0 ohm/)
  })
})

describe('fitThermometer, callendar-van-dusen', () => {
  const at = (temperatures: readonly number[], r0 = 100) =>
    temperatures.map((t90C) => ({ t90C, signal: r0 * callendarVanDusenRatio(IEC60751, t90C) }))
  it('finds the standard coefficients from exact points', () => {
    const fit = fitThermometer({
      model: { kind: 'callendar-van-dusen' },
      points: at([-200, -100, -50, 0, 100, 400, 800]),
    })
    expect(fit.coefficients.r0).toBeCloseTo(100, 10)
    expect(fit.coefficients.a! / IEC60751.a).toBeCloseTo(1, 12)
    expect(fit.coefficients.b! / IEC60751.b).toBeCloseTo(1, 11)
    expect(fit.coefficients.c! / IEC60751.c).toBeCloseTo(1, 10)
  })
  it('holds C at 0 above 0 degC and says so', () => {
    const fit = fitThermometer({ model: { kind: 'callendar-van-dusen' }, points: at([0, 50, 100]) })
    expect(fit.names).toEqual(['r0', 'a', 'b'])
    expect(fit.conversion).toMatchObject({ c: 0 })
    expect(fit.notes.join()).toContain('held at 0')
  })
  it('holds R0 or C where they are given', () => {
    const points = at([-100, -50, 0, 100])
    const held = fitThermometer({ model: { kind: 'callendar-van-dusen', r0: 100, c: IEC60751.c }, points })
    expect(held.names).toEqual(['a', 'b'])
    expect(held.coefficients.b! / IEC60751.b).toBeCloseTo(1, 10)
    expect(held.conversion).toMatchObject({ r0: 100, c: IEC60751.c })
  })
  it('gives uncertainties that repeated calibrations confirm', () => {
    const random = seededRandom(12)
    const temperatures = [-50, 0, 50, 100, 150, 200]
    const u = 0.002
    const found: number[] = []
    let stated = 0
    for (let run = 0; run < 300; run++) {
      const points = at(temperatures).map(({ t90C, signal }) => ({
        t90C,
        signal: signal + u * random.normal(),
        uSignal: u,
      }))
      const fit = fitThermometer({ model: { kind: 'callendar-van-dusen', c: IEC60751.c }, points })
      expect(fit.covarianceFrom).toBe('uncertainties')
      const { r0, a, b } = fit.coefficients
      found.push(r0! * callendarVanDusenRatio({ a: a!, b: b!, c: IEC60751.c }, 120))
      stated = fit.temperatureUncertainty(120)
    }
    const mean = found.reduce((sum, value) => sum + value, 0) / found.length
    const sd = Math.sqrt(found.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (found.length - 1))
    const slope = 100 * (IEC60751.a + 240 * IEC60751.b)
    expect(sd / slope / stated).toBeGreaterThan(0.87)
    expect(sd / slope / stated).toBeLessThan(1.13)
  })
})

describe('fitThermometer, steinhart-hart and polynomial', () => {
  const thermistor = (temperatures: readonly number[]) =>
    temperatures.map((t90C) => ({ t90C, signal: thermistorResistance([1.1e-3, 2.3e-4, 0, 9e-8], t90C) }))
  it('finds three and four coefficients of ln R', () => {
    const points = thermistor([-20, 0, 25, 50, 80, 110])
    const three = fitThermometer({ model: { kind: 'steinhart-hart' }, points })
    expect(three.coefficients['0']! / 1.1e-3).toBeCloseTo(1, 11)
    expect(three.coefficients['3']! / 9e-8).toBeCloseTo(1, 10)
    const four = fitThermometer({ model: { kind: 'steinhart-hart', powers: [0, 1, 2, 3] }, points })
    expect(Math.abs(four.coefficients['2']!)).toBeLessThan(1e-14)
    expect(largest(four.residualsK)).toBeLessThan(1e-9)
  })
  it('weighs resistances by the slope of the relation', () => {
    const points = thermistor([0, 25, 50, 75, 100]).map((point) => ({
      ...point,
      uSignal: 1e-4 * point.signal,
    }))
    const fit = fitThermometer({ model: { kind: 'steinhart-hart' }, points })
    // One part in 1e4 of R is about 2.5 mK at 25 degC; three coefficients on five points bring somewhat less.
    expect(fit.temperatureUncertainty(40)).toBeGreaterThan(5e-4)
    expect(fit.temperatureUncertainty(40)).toBeLessThan(4e-3)
  })
  it('refuses absolute zero and resistances of 0', () => {
    expect(() =>
      fitThermometer({ model: { kind: 'steinhart-hart' }, points: [{ t90C: -273.15, signal: 5 }] }),
    ).toThrow('absolute zero')
    expect(() =>
      fitThermometer({ model: { kind: 'steinhart-hart' }, points: [{ t90C: 0, signal: -5 }] }),
    ).toThrow('above 0 ohm')
  })
  it('fits the temperature as a polynomial in the signal', () => {
    const points = [100, 110, 120, 130, 140].map((signal) => ({
      signal,
      t90C: -245 + 2.35 * signal + 1e-3 * signal ** 2,
    }))
    const fit = fitThermometer({ model: { kind: 'polynomial', degree: 2 }, points })
    expect(fit.conversion).toMatchObject({
      kind: 'polynomial',
      from: 'resistance',
      to: 'temperature',
      range: [100, 140],
    })
    expect(fit.coefficients['1']).toBeCloseTo(2.35, 10)
    expect(largest(fit.residualsK)).toBeLessThan(1e-10)
  })
  it('gives leave-one-out residuals that refitting confirms', () => {
    const random = seededRandom(4)
    const points = [0, 20, 40, 60, 80, 100].map((t90C) => ({
      t90C,
      signal: 100 * callendarVanDusenRatio(IEC60751, t90C) + 1e-3 * random.normal(),
    }))
    const whole = fitThermometer({ model: { kind: 'polynomial', degree: 2 }, points })
    for (let out = 0; out < points.length; out++) {
      const { coefficients } = fitThermometer({
        model: { kind: 'polynomial', degree: 2 },
        points: points.filter((_, i) => i !== out),
      })
      const shown = [0, 1, 2].reduce((sum, k) => sum + coefficients[k]! * points[out]!.signal ** k, 0)
      expect(whole.leaveOneOutK[out]!).toBeCloseTo(shown - points[out]!.t90C, 5)
    }
  })
})

describe('answerFitLine', () => {
  const line = (request: object | string) =>
    JSON.parse(
      JSON.stringify(answerFitLine(typeof request === 'string' ? request : JSON.stringify(request), 3)),
    ) as Record<string, never>
  it('gives the fields that were promised', () => {
    const answer = line({
      id: 1,
      x: [0, 1, 2, 3],
      y: [1, 3, 5, 8],
      model: { kind: 'polynomial', degree: 1, intercept: true },
    })
    expect(answer).toMatchObject({ id: 1, degreesOfFreedom: 2, coefficientNames: ['constant', 'x'] })
    for (const field of [
      'coefficients',
      'standardUncertainties',
      'covariance',
      'residualSd',
      'rSquared',
      'residuals',
    ]) {
      expect(answer).toHaveProperty(field)
    }
  })
  it('names the powers of a polynomial, and has no constant where none is asked for', () => {
    const names = (model: object) =>
      (line({ x: [1, 2, 3, 4], y: [1, 4, 9, 17], model }) as unknown as { coefficientNames: string[] })
        .coefficientNames
    expect(names({ kind: 'polynomial', degree: 2 })).toEqual(['constant', 'x', 'x^2'])
    expect(names({ kind: 'polynomial', degree: 2, intercept: false })).toEqual(['x', 'x^2'])
    expect(names({ kind: 'linear' })).toEqual(['constant', 'x1'])
    expect(names({ kind: 'linear', intercept: false })).toEqual(['x1'])
  })
  it('gives coefficients by name, and a conversion, for a thermometer', () => {
    const { signal } = pointsOf({ kind: 'its90', subrange: '3.3.2.4', coefficients: { a: -1e-4 } }, [100])[0]!
    const answer = line({ x: [0.01, 100], y: [R_WTP, signal], model: { kind: 'its90' } }) as unknown as {
      coefficients: { a: number }
      conversion: object
    }
    expect(answer.coefficients.a).toBeCloseTo(-1e-4, 12)
    expect(answer.conversion).toMatchObject({ kind: 'its90', rWtp: R_WTP, subrange: '3.3.2.4' })
  })
  it('names the coefficients of a fit through the origin by their own powers', () => {
    const y = [1, 2, 3].map((x) => 2 * x - 0.5 * x * x)
    const through = (model: object, x: unknown = [1, 2, 3]) =>
      line({ x, y, model }) as unknown as { coefficientNames: string[]; coefficients: number[] }
    const polynomial = through({ kind: 'polynomial', degree: 2, intercept: false })
    expect(polynomial.coefficientNames).toEqual(['x', 'x^2'])
    expect(polynomial.coefficients).toEqual([2, -0.5])
    const linear = through({ kind: 'linear', intercept: false }, [
      [1, 1],
      [2, 4],
      [3, 9],
    ])
    expect(linear.coefficientNames).toEqual(['x1', 'x2'])
    expect(linear.coefficients).toEqual([2, -0.5])
  })
  it('gives the leave-one-out residual of a thermometer: its signal less that of the fit to the other points', () => {
    const x = [0, 40, 80, 120, 160]
    const y = [100.0021, 115.5402, 130.8999, 146.0668, 161.0554]
    const model = { kind: 'callendar-van-dusen' }
    const whole = line({ x, y, model }) as unknown as { leaveOneOutResiduals: number[]; error?: string }
    expect(whole.error).toBeUndefined()
    x.forEach((t, i) => {
      const others = line({ x: x.toSpliced(i, 1), y: y.toSpliced(i, 1), model }) as unknown as {
        conversion: Conversion
      }
      const residual = y[i]! - prepare(others.conversion).toSignal(t).value
      expect(whole.leaveOneOutResiduals[i], `point ${i + 1}`).toBeCloseTo(residual, 9)
    })
  })
  it('takes uncertainties for weights, and one for all', () => {
    const base = { x: [0, 1, 2], y: [1, 2, 4], model: { kind: 'polynomial', degree: 1 } }
    const answer = line({ ...base, uY: 0.5 }) as unknown as {
      standardUncertainties: number[]
      chiSquared: number
    }
    expect(answer.standardUncertainties[1]).toBeCloseTo(0.5 / Math.SQRT2, 12)
    expect(answer.chiSquared).toBeCloseTo(1 / 6 / 0.25, 12)
    expect(line({ ...base, uY: [0.1, 0] }).error).toMatch(/2 values of uY for 3/)
    expect(line({ ...base, uY: [0.1, 0, 1] }).error).toMatch(/uY of point 2/)
    expect(line({ ...base, uY: 1, weights: [1, 1, 1] }).error).toMatch(/not both/)
  })
  it.each([
    ['{"x":', /Line 3 is not JSON/],
    [{ x: [1], y: [1, 2], model: { kind: 'polynomial', degree: 0 } }, /1 values of x and 2 of y/],
    [{ x: [1, 2], y: [1, 2], model: { kind: 'spline' } }, /kind is one of/],
    [{ x: [1, 2], y: [1, 2], model: { kind: 'polynomial', degree: 3 } }, /cannot determine 4/],
    [
      {
        x: [
          [1, 2],
          [3, 4],
        ],
        y: [1, 2],
        model: { kind: 'polynomial', degree: 1 },
      },
      /use linear/,
    ],
    [
      {
        x: [
          [1, 2],
          [2, 4],
          [3, 6],
          [4, 8],
        ],
        y: [1, 2, 3, 5],
        model: { kind: 'linear' },
      },
      /column x2 is a combination of x1/,
    ],
    [{ x: [1, 2], y: [1, 2], weights: [1], model: { kind: 'polynomial', degree: 0 } }, /1 value of weights/],
  ])('answers %j with an error in words', (request, words) => {
    expect(line(request).error).toMatch(words)
  })
})

describe('answerFitLine on the worked examples', () => {
  // app/validation/figures/its90-worked-examples.json, whose notes say which are quoted and which computed.
  interface Example {
    id: string
    section: string
    R_TPW_ohm: number
    data?: [number, number][]
    coefficients: { a: number; b: number }
    standard_uncertainties: { a: number; b: number }
    correlation: number[][]
    residual_sd_in_W: number
    residuals_in_W: number[]
    degrees_of_freedom: number
    fixed_points: { t90_C: number; W: number }[]
    coefficients_computed: Record<string, number>
  }
  interface Answer {
    coefficients: Record<string, number>
    standardUncertainties: Record<string, number>
    covariance: number[][]
    equation: { of: string; unit: string; residuals: number[]; residualSd: number }
    degreesOfFreedom: number
  }
  const rows = examples.rows as unknown as Example[]
  const answerOf = (request: object) => answerFitLine(JSON.stringify(request), 1) as unknown as Answer
  const leastSquares = rows.filter(({ id }) => id.startsWith('lsq'))
  it.each(leastSquares.map((row) => [row.id, row] as const))('gives the least squares of %s', (_, row) => {
    const answer = answerOf({
      x: row.data!.map(([t]) => t),
      y: row.data!.map(([, w]) => w * row.R_TPW_ohm),
      model: { kind: 'its90', subrange: row.section, rWtp: row.R_TPW_ohm },
    })
    for (const name of ['a', 'b'] as const) {
      expect(answer.coefficients[name]! / row.coefficients[name]).toBeCloseTo(1, 8)
      expect(answer.standardUncertainties[name]! / row.standard_uncertainties[name]).toBeCloseTo(1, 8)
    }
    const { a, b } = answer.standardUncertainties
    expect(answer.covariance[0]![1]! / (a! * b!)).toBeCloseTo(row.correlation[0]![1]!, 8)
    expect(answer.equation.residualSd / row.residual_sd_in_W).toBeCloseTo(1, 8)
    expect(answer.degreesOfFreedom).toBe(row.degrees_of_freedom)
    answer.equation.residuals.forEach((residual, i) => {
      expect(residual).toBeCloseTo(row.residuals_in_W[i]!, 14)
    })
  })
  it('gives the coefficients of the high-temperature thermometer from its four fixed points', () => {
    const row = rows.find(({ id }) => id.startsWith('high-temperature'))!
    const { coefficients } = answerOf({
      x: [0.01, ...row.fixed_points.map(({ t90_C }) => t90_C)],
      y: [row.R_TPW_ohm, ...row.fixed_points.map(({ W }) => W * row.R_TPW_ohm)],
      model: { kind: 'its90' },
    })
    for (const [name, value] of Object.entries(row.coefficients_computed)) {
      expect(coefficients[name]! / value).toBeCloseTo(1, 7)
    }
  })
  it.each([3, 4])('gives the least squares of %s terms on the certified thermistor data', (terms) => {
    // app/validation/figures/thermistor-examples.json: data of NIST StRD MGH10, coefficients computed.
    const list = thermistors.rows as unknown as {
      id: string
      data?: [number, number][]
      coefficients: number[]
      powers: number[]
      standard_uncertainties: number[]
      residual_sd_per_K: number
      fit_minus_t_mK: number[]
    }[]
    const { data } = list.find(({ id }) => id === 'NIST StRD MGH10')!
    const row = list.find(({ id, powers }) => id.startsWith('least squares') && powers.length === terms)!
    const answer = answerOf({
      x: data!.map(([t]) => t),
      y: data!.map(([, ohm]) => ohm),
      model: { kind: 'steinhart-hart', powers: row.powers },
    }) as Answer & { residualsKelvin: number[] }
    row.coefficients.forEach((value, k) => {
      expect(answer.coefficients[k]! / value).toBeCloseTo(1, 8)
      expect(answer.standardUncertainties[k]! / row.standard_uncertainties[k]!).toBeCloseTo(1, 8)
    })
    expect(answer.equation.residualSd / row.residual_sd_per_K).toBeCloseTo(1, 8)
    row.fit_minus_t_mK.forEach((value, i) => {
      expect(answer.residualsKelvin[i]! * 1000).toBeCloseTo(value, 5)
    })
  })
})
