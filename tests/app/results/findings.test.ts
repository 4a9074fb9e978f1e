import { describe, expect, it } from 'vitest'
import { type Around, findingsOf, unmadeOf } from '../../../app/results/findings.ts'
import type { ThermometerResult } from '../../../app/results/result.ts'
import type { WtpComparison } from '../../../app/results/wtp.ts'

/** A thermometer of which nothing speaks against: what a test is about is put over it. */
const thermometer = (name: string, more: object = {}, fit: object = {}): ThermometerResult =>
  ({
    record: { thermometer: { name, kind: 'prt' }, channel: { id: name } },
    signalUnit: 'ohm',
    points: [point('p1')],
    beside: { revisits: [], lift: {}, insulationOhm: 1e9, bothWays: true },
    fit: {
      pairs: [{ point: 'p1', cell: false }],
      expectedResidual: () => ({ sharedMk: 0, ownMk: 1 }),
      scatter: { freedom: 0, chiSquared: 0, expectedFreedom: Number.POSITIVE_INFINITY, sharedPart: 0 },
      excess: null,
      ...fit,
    },
    ...more,
  }) as unknown as ThermometerResult

const point = (id: string, more: object = {}, pair: object = {}) => ({
  pair: { point: id, cell: false, underTest: { from: 'pair' }, agreement: null, ...pair },
  included: true,
  residualMk: 0,
  budget: { lines: [], expanded: 10 },
  ...more,
})

const steady = {
  changed: false,
  changeMk: 0.1,
  expandedChangeMk: 0.2,
  sinceLast: null,
} as unknown as WtpComparison
const reference = (name: string, more: object = {}) => ({
  record: { thermometer: { name, ...more }, calibration: { conversion: { kind: 'its90' } } },
})
const around = (more: object = {}): Around =>
  ({
    references: [reference('reference')],
    wtps: [steady],
    exchanges: [],
    hasSurvey: true,
    uniformity: { uMk: () => 1, degreesOfFreedom: Number.POSITIVE_INFINITY, source: 'typed' },
    ...more,
  }) as unknown as Around

const kindsOf = (thermometers: readonly ThermometerResult[], more: object = {}) =>
  findingsOf(thermometers, around(more)).map(({ kind }) => kind)

describe('unmadeOf', () => {
  const checks = (thermometers: readonly ThermometerResult[], more: object = {}) =>
    unmadeOf(thermometers, around(more)).map(({ check, words }) => [check, words.split(':')[0]])

  it('names nothing where every check was made', () => {
    expect(checks([thermometer('A'), thermometer('B')])).toEqual([])
  })

  it.each([
    ['lift', { lift: null }],
    ['first-again', { bothWays: false }],
    ['insulation', { insulationOhm: null }],
  ])('names the thermometers without %s, be it one or two, and no other', (check, lacks) => {
    const whole = thermometer('A').beside
    const lacking = (name: string) => thermometer(name, { beside: { ...whole, ...lacks } })
    expect(checks([thermometer('A'), lacking('B')])).toEqual([[check, 'B']])
    expect(checks([lacking('A'), lacking('B'), thermometer('C')])).toEqual([[check, 'A, B']])
  })

  it('asks for pairs of currents at every point, and takes those of another point', () => {
    const from = (...all: string[]) =>
      thermometer('A', { points: all.map((f, i) => point(`p${i}`, {}, { underTest: { from: f } })) })
    expect(checks([from('pair', 'pair-elsewhere')])).toEqual([])
    expect(checks([from('pair', 'register')])).toEqual([['pairs', 'A']])
    expect(checks([from('unknown')])).toEqual([['pairs', 'A']])
  })

  it('asks a thermocouple for neither insulation nor pairs, and nobody who has no result', () => {
    const nothing = { revisits: [], lift: {}, insulationOhm: null, bothWays: true }
    const points = [point('p1', {}, { underTest: { from: 'unknown' } })]
    expect(checks([thermometer('A', { signalUnit: 'mV', beside: nothing, points })])).toEqual([])
    expect(checks([thermometer('A', { fit: null, beside: null, points })])).toEqual([])
  })

  it('asks for R(0.01 °C) before and after of each platinum standard, and of no other reference', () => {
    const half = { ...steady, changeMk: null }
    const words = (references: object[], wtps: (WtpComparison | null)[]) =>
      unmadeOf([], around({ references, wtps })).map((u) => u.words)
    expect(words([reference('S'), reference('T')], [steady, half])).toEqual([
      'R(0.01 °C) of T was not measured before and after: whether it held is not known.',
    ])
    expect(words([reference('S')], [null])[0]).toMatch(/of S was not/)
    const thermistor = {
      record: { thermometer: { name: 'H' }, calibration: { conversion: { kind: 'steinhart-hart' } } },
    }
    expect(words([thermistor], [null])).toEqual([])
  })

  it('asks for an exchange of places or a survey, one of them', () => {
    const exchange = { celsius: 0, places: [], offsetMk: new Map(), errors: [], parts: new Map() }
    const asked = (exchanges: object[], hasSurvey: boolean) =>
      unmadeOf([], around({ exchanges, hasSurvey })).map(({ check }) => check)
    expect(asked([], false)).toEqual(['exchange'])
    expect(asked([], true)).toEqual([])
    expect(asked([exchange], false)).toEqual([])
  })
})

describe('findingsOf', () => {
  const moved =
    (r: number, sharedMk = 0, ownMk = 1) =>
    (name: string) =>
      thermometer(
        name,
        { points: [point('p1', { residualMk: r })] },
        { expectedResidual: () => ({ sharedMk, ownMk }) },
      )

  it('says nothing of a quiet night', () => {
    expect(kindsOf(['A', 'B', 'C'].map(moved(0)))).toEqual([])
  })

  it('finds what three thermometers show together beyond one chance in a hundred', () => {
    // 2.5758 is the normal quantile of 99.5 %: of the mean of three errors of 1 mK 2.5758/sqrt(3) = 1.487 mK.
    expect(kindsOf(['A', 'B', 'C'].map(moved(1.49)))).toEqual(['common-mode'])
    expect(kindsOf(['A', 'B', 'C'].map(moved(-1.49)))).toEqual(['common-mode'])
    expect(kindsOf(['A', 'B', 'C'].map(moved(1.48)))).toEqual([])
    expect(kindsOf(['A', 'B'].map(moved(9)))).toEqual([])
    // With 2 mK shared: 2.5758 sqrt(4 + 1/3) = 5.362 mK.
    expect(kindsOf(['A', 'B', 'C'].map(moved(5.37, 2)))).toEqual(['common-mode'])
    expect(kindsOf(['A', 'B', 'C'].map(moved(5.35, 2)))).toEqual([])
  })

  it('weighs each by what is its own: the mean of one good and two poor ones is that of the good one', () => {
    const [found] = findingsOf([moved(4, 0, 0.1)('A'), moved(0, 0, 10)('B'), moved(0, 0, 10)('C')], around())
    expect(found!.words).toMatch(/^At p1 3 thermometers moved by 4\.0 mK together/)
  })

  it('has a higher limit the more points there are, each with its own share of the chance', () => {
    const both = (r: number) => (name: string) =>
      thermometer(
        name,
        { points: [point('p1', { residualMk: r }), point('p2')] },
        { pairs: [{ point: 'p1' }, { point: 'p2' }] },
      )
    // 2.8070 is the normal quantile of 99.75 %: 1.6207 mK.
    expect(kindsOf(['A', 'B', 'C'].map(both(1.63)))).toEqual(['common-mode'])
    expect(kindsOf(['A', 'B', 'C'].map(both(1.61)))).toEqual([])
  })

  it.each([
    [
      'the reference',
      { wtps: [{ ...steady, changed: true }] },
      /the reference moved, as its R\(0\.01 °C\) shows/,
    ],
    ['the bath, where the reference held', { wtps: [steady] }, /the bath moved, since R\(0\.01 °C\)/],
    [
      'the bath, if two references agree',
      { references: [reference('S'), reference('T')], wtps: [null, { ...steady, changeMk: null }] },
      /if they agree, the bath moved/,
    ],
    ['one of both, where nothing tells', { wtps: [null] }, /the reference or the bath moved/],
    [
      'one of both, where R(0.01 °C) was measured once only',
      { wtps: [{ ...steady, changeMk: null }] },
      /the reference or the bath moved/,
    ],
  ])('says what moved: %s', (_, more, words) => {
    const found = findingsOf(['A', 'B', 'C'].map(moved(5)), around(more))
    expect(found.find(({ kind }) => kind === 'common-mode')!.words).toMatch(words)
  })

  it('tells of a shunt that brings more than a third of U', () => {
    // A rectangle of half-width a has u = a / sqrt(3).
    const shunted = (mk: number) =>
      thermometer('A', {
        points: [
          point('p1', {
            budget: { lines: [{ component: 'insulation', u: mk / Math.sqrt(3) }], expanded: 30 },
          }),
          point('p2', { budget: { lines: [{ component: 'noise', u: 20 }], expanded: 30 } }),
        ],
      })
    expect(findingsOf([shunted(10.1)], around())).toMatchObject([
      { kind: 'insulation', points: ['p1'], channels: ['A'] },
    ])
    expect(findingsOf([shunted(9.9)], around())).toEqual([])
  })

  const changed = { changed: true, changeMk: -0.8, expandedChangeMk: 0.4, sinceLast: null }
  const since = { date: '2026-01-05', differenceMk: -0.8, expandedMk: 0.4, moved: true }
  it.each([
    ['changed in the night', { ...changed }, {}, ['reference-changed']],
    ['changed within its own limit', { ...changed }, { wtpLimitMk: 0.9 }, []],
    ['moved since its last entry', { ...steady, sinceLast: since }, {}, ['reference-moved']],
    ['moved within its own limit', { ...steady, sinceLast: since }, { wtpLimitMk: 0.9 }, []],
    ['moved by what its uncertainty explains', { ...steady, sinceLast: { ...since, moved: false } }, {}, []],
  ])('tells of a reference that %s as its limit says', (_, wtp, more, kinds) => {
    expect(kindsOf([], { references: [reference('S', more)], wtps: [wtp] })).toEqual(kinds)
  })

  it('names every point at which the references disagree once, and what they say at the worst', () => {
    const apart = (id: string, disagreementMk: number, more: object = {}) =>
      point(id, more, {
        disagreementMk,
        agreement: {
          consistent: false,
          references: [{ name: 'S', celsius: 25 + disagreementMk / 1e3, uMk: 1 }],
        },
      })
    const points = [apart('p1', 10), apart('p2', 40), apart('p3', 70, { included: false })]
    const found = findingsOf([thermometer('A', { points }), thermometer('B', { points })], around())
    expect(found).toMatchObject([{ kind: 'references-disagree', points: ['p1', 'p2'], channels: null }])
    expect(found[0]!.words).toMatch(/at p1, p2: S 25\.0400 °C \(u 1\.0 mK\) at p2\./)
  })

  it('gives the words of the worst of all points, whichever thermometer shows it', () => {
    const at = (id: string, mk: number) => {
      const says = [{ name: 'S', celsius: mk, uMk: 1 }]
      return point(id, {}, { disagreementMk: mk, agreement: { consistent: false, references: says } })
    }
    const found = findingsOf(
      [
        thermometer('A', { points: [at('p1', 10)] }, { pairs: [] }),
        thermometer('B', { points: [at('p2', 40), at('p3', 20)] }, { pairs: [] }),
      ],
      around(),
    )
    expect(found[0]!.points).toEqual(['p1', 'p2', 'p3'])
    expect(found[0]!.words).toMatch(/at p1, p2, p3: S 40\.0000 °C \(u 1\.0 mK\) at p2\./)
    const agreed = point('p1', {}, { disagreementMk: 40, agreement: { consistent: true, references: [] } })
    expect(kindsOf([thermometer('A', { points: [agreed] })])).toEqual([])
  })

  it('tells of places that changed between exchanges, and of one that is further off than is stated', () => {
    const exchange = (celsius: number, offset: number) => ({
      celsius,
      points: [`p${celsius}`],
      places: ['left', 'right'],
      offsetMk: new Map([
        ['left', 0],
        ['right', offset],
      ]),
      errors: ['left', 'right'].map((channel) => ({
        point: `p${celsius}`,
        channel,
        uMk: 0.1,
        degreesOfFreedom: Number.POSITIVE_INFINITY,
      })),
      parts: new Map([
        ['left', [0, 0]],
        ['right', [0, 1]],
      ]),
    })
    const found = (...exchanges: object[]) => findingsOf([], around({ exchanges }))
    expect(found(exchange(0, 1), exchange(90, 1))).toEqual([])
    const [changed] = found(exchange(0, 1.5), exchange(90, -1.5))
    expect(changed).toMatchObject({ kind: 'places-changed', points: null, channels: null })
    const [wide] = found(exchange(90, -9))
    expect(wide).toMatchObject({ kind: 'places-wide', points: null, channels: null })
    expect(wide!.words).toMatch(/^At 90 °C the bath at right differs from left by -9\.0 mK \(u 0\.10 mK\)/)
  })

  const scattered = (chiSquared: number, freedom: number, excess: object | null) => (name: string) =>
    thermometer(
      name,
      {},
      {
        scatter: { freedom, chiSquared, expectedFreedom: Number.POSITIVE_INFINITY, sharedPart: 0 },
        excess,
        residualMk: 3,
        expectedResidualMk: 1,
      },
    )

  it('tells of residuals beyond half a chance in a hundred, shared by the thermometers', () => {
    // Chi-squared of one degree of freedom: 7.879 at 99.5 %, 9.141 at 99.75 % (quantiles of the normal distribution, squared).
    const one = (chi: number) => kindsOf([scattered(chi, 1, { mk: 3 })('A')])
    expect(one(7.9)).toEqual(['scatter'])
    expect(one(7.8)).toEqual([])
    const two = (chi: number) => kindsOf([scattered(chi, 1, { mk: 3 })('A'), scattered(0, 1, null)('B')])
    expect(two(9.2)).toEqual(['scatter'])
    expect(two(9.1)).toEqual([])
  })

  it('tells of all thermometers together by the other half of that chance', () => {
    // Chi-squared of two degrees of freedom: -2 ln(0.005) = 10.597 at 99.5 %.
    const both = (chi: number) =>
      kindsOf([scattered(chi / 2, 1, null)('A'), scattered(chi / 2, 1, null)('B')])
    expect(both(10.65)).toEqual(['scatter'])
    expect(both(10.55)).toEqual([])
    // Of four degrees of freedom 14.860.
    const four = (chi: number) => kindsOf([scattered(chi, 2, null)('A'), scattered(0, 2, null)('B')])
    expect(four(14.9)).toEqual(['scatter'])
    expect(four(14.8)).toEqual([])
  })

  it('says by how many times the residuals of all thermometers together are too large', () => {
    const found = findingsOf([scattered(40, 4, null)('A'), scattered(41, 5, null)('B')], around())
    expect(found).toMatchObject([{ kind: 'scatter', channels: null }])
    // sqrt((40 + 41) / (4 + 5)) = 3.
    expect(found[0]!.words).toMatch(/all 2 thermometers together are 3\.0 times/)
    expect(kindsOf([scattered(40, 4, null)('A'), scattered(0, 0, null)('B')])).toEqual([])
  })

  it('tells of a thermocouple that has no voltage elsewhere than at 0 °C', () => {
    const couple = (mk: number) =>
      thermometer(
        'K',
        {
          record: { thermometer: { name: 'K', kind: 'thermocouple' }, channel: { id: 'K' } },
          signalUnit: 'mV',
        },
        {
          model: { kind: 'thermocouple' },
          prepared: { toTemperature: () => ({ value: mk / 1e3 }) },
          atTemperature: () => ({ u: 10, expanded: 20, degreesOfFreedom: Number.POSITIVE_INFINITY }),
        },
      )
    // 2.5758 x 10 mK for one thermocouple, 2.8070 x 10 mK for two.
    expect(kindsOf([couple(25.8)])).toEqual(['zero-voltage'])
    expect(kindsOf([couple(-25.8)])).toEqual(['zero-voltage'])
    expect(kindsOf([couple(25.7)])).toEqual([])
    expect(kindsOf([couple(28.1), couple(0)])).toEqual(['zero-voltage'])
    expect(kindsOf([couple(28), couple(0)])).toEqual([])
  })
})
