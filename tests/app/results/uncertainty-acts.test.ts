import { describe, expect, it } from 'vitest'
import type { BridgeInForce } from '../../../app/live/bridge-in-force.ts'
import type {
  PairFacts,
  PairPoint,
  PlacesKnown,
  ReferenceFacts,
  ReferencePoint,
} from '../../../app/results/pair-facts.ts'
import { actsOf, fixedMk } from '../../../app/results/uncertainty-acts.ts'
import { referenceAtPlace, stabilityActs, underTestAtPlace } from '../../../app/results/uncertainty-places.ts'
import { TemplateComponent } from '../../../app/results/uncertainty-template.ts'

/** A comparison made up in round numbers, so that what each error does can be worked out by hand. */

const component = (origin: TemplateComponent['origin'], more: object = {}): TemplateComponent =>
  TemplateComponent.parse({
    id: origin,
    name: origin,
    origin,
    kind: 'B',
    distribution: 'rectangular',
    correlation: { kind: 'independent' },
    degreesOfFreedom: null,
    source: 'template',
    explain: 'e',
    ...more,
  })

const reference = (more: Partial<ReferencePoint> = {}): ReferencePoint => ({
  weight: 1,
  mkPerRelative: 250_000,
  ratio: 0.5,
  noiseMk: 0.2,
  noiseDof: 9,
  selfHeatingMk: 0.3,
  selfHeatingDof: 4,
  ohm: 30,
  ohmAtWtp: 25,
  places: null,
  ...more,
})

const point = (name: string, more: Partial<PairPoint> = {}): PairPoint => ({
  point: name,
  cell: false,
  referenceC: 50,
  references: [reference()],
  underTestMkPerRelative: 300_000,
  underTestRatio: 0.8,
  underTestNoiseMk: 0.4,
  underTestNoiseDof: 7,
  underTestSelfHeatingMk: 0.6,
  underTestSelfHeatingDof: 5,
  junctionPart: 0,
  underTestSignal: 120,
  underTestOhm: 120,
  unbracketedMk: 0,
  disagreementMk: 0,
  ...more,
})

const cell = (more: Partial<PairPoint> = {}) =>
  point('cell', { cell: true, references: [], referenceC: 0.01, ...more })

const bridge = (more: Partial<BridgeInForce> = {}): BridgeInForce => ({
  linearityRatio: 4e-8,
  uResolutionRatio: 1e-9,
  linearitySource: null,
  correction: null,
  ...more,
})

const ofReference = (more: Partial<ReferenceFacts> = {}): ReferenceFacts => ({
  name: 'Reference',
  bridge: bridge(),
  resistor: { id: 'r', calibration: 1e-7, drift: 2e-7, temperature: 3e-7 },
  ratioFromSession: false,
  calibrationMk: () => 2,
  calibrationModesMk: () => [],
  wtpRelative: 4e-7,
  relativePerMkAtWtp: 4e-6,
  yearsSince: 0.5,
  insulationOhm: null,
  ...more,
})

const facts = (more: Partial<PairFacts> = {}): PairFacts => ({
  references: [ofReference()],
  bridge: bridge({ linearityRatio: 8e-8, linearitySource: 'check of the bridge' }),
  resistor: { id: 'r', calibration: 1e-7, drift: 2e-7, temperature: 3e-7 },
  uniformity: { uMk: () => 1.5, degreesOfFreedom: 6, source: 'survey' },
  bathStabilityMk: 1,
  underTestJunctionMk: null,
  hysteresis: null,
  lift: null,
  insulationOhm: null,
  meter: null,
  spanK: 200,
  excess: null,
  ...more,
})

const mkOf = (
  origin: TemplateComponent['origin'],
  points: PairPoint[],
  known: PairFacts,
  more: object = {},
) => actsOf(component(origin, more), points, known).map(({ temperatureMk }) => temperatureMk)

const ROOT_3 = Math.sqrt(3)

describe('fixedMk', () => {
  it.each([
    ['rectangular', 6 / ROOT_3],
    ['triangular', 6 / Math.sqrt(6)],
    ['arcsine', 6 / Math.SQRT2],
    ['normal', 6],
    ['t', 6],
  ])('makes a standard uncertainty of a size stated as %s', (distribution, u) => {
    const stated = component('fixed', { distribution, values: [{ celsius: 0, mk: 6 }] })
    expect(fixedMk(stated, 20)).toBeCloseTo(u, 12)
  })
})

describe('actsOf', () => {
  it('gives an error of one resistor to both thermometers, each with its own resistor otherwise', () => {
    const one = actsOf(component('resistor-calibration'), [point('a'), cell()], facts())
    expect(one).toHaveLength(1)
    // A cell has no reference; the thermometer under test hangs on the resistor there as well.
    expect(one[0]!.referenceRelative).toEqual([1e-7, 0])
    expect(one[0]!.underTestRelative).toEqual([1e-7, 1e-7])
    const two = facts({ resistor: { id: 's', calibration: 5e-7, drift: 6e-7, temperature: 7e-7 } })
    const sizes = (origin: 'resistor-calibration' | 'resistor-drift' | 'resistor-temperature') =>
      actsOf(component(origin), [point('a')], two).map((a) => [
        a.referenceRelative![0],
        a.underTestRelative![0],
      ])
    expect(sizes('resistor-calibration')).toEqual([
      [1e-7, 0],
      [0, 5e-7],
    ])
    expect(sizes('resistor-drift')).toEqual([
      [2e-7, 0],
      [0, 6e-7],
    ])
    expect(sizes('resistor-temperature')).toEqual([
      [3e-7, 0],
      [0, 7e-7],
    ])
  })

  it('lets the resistor’s error go out of W where R(WTP) was measured on it in the session', () => {
    const [act] = actsOf(
      component('resistor-calibration'),
      [point('a')],
      facts({ references: [ofReference({ ratioFromSession: true })] }),
    )
    expect(act!.referenceRelative).toEqual([0])
    expect(act!.underTestRelative).toEqual([1e-7])
  })

  it('gives every ratio an error of its own, of the bridge that measured it', () => {
    const [ofRef, own] = actsOf(component('bridge-linearity'), [point('a'), cell()], facts())
    // 4e-8 of a ratio of 0.5; 8e-8 of one of 0.8.
    expect(ofRef!.referenceRelative![0]).toBeCloseTo(8e-8, 18)
    expect(ofRef!.referenceRelative![1]).toBe(0)
    expect(own!.underTestRelative![0]).toBeCloseTo(1e-7, 18)
    expect(ofRef).not.toHaveProperty('source')
    expect(own!.source).toBe('check of the bridge')
    const resolution = actsOf(component('bridge-resolution'), [point('a')], facts())
    expect(resolution[0]!.referenceRelative![0]).toBeCloseTo(2e-9, 20)
    expect(resolution[1]!.underTestRelative![0]).toBeCloseTo(1.25e-9, 20)
    expect(resolution[1]).not.toHaveProperty('source')
    // No bridge, or no ratio: nothing of it.
    const none = actsOf(component('bridge-linearity'), [point('a', { underTestRatio: null })], facts())
    expect(none[1]!.underTestRelative).toEqual([0])
    expect(actsOf(component('bridge-linearity'), [point('a')], facts({ bridge: null }))[1]).toEqual({
      underTestRelative: [0],
    })
  })

  it('gives each of several references its weight: the first as a part of its signal, the others in mK', () => {
    const pair = point('a', {
      references: [reference({ weight: 0.75 }), reference({ weight: 0.25, mkPerRelative: 400_000 })],
    })
    const known = facts({ references: [ofReference(), ofReference({ wtpRelative: 8e-7 })] })
    const [first, second] = actsOf(component('reference-wtp'), [pair], known)
    expect(first!.referenceRelative![0]).toBeCloseTo(3e-7, 18)
    expect(first!.temperatureMk).toEqual([0])
    expect(second!.referenceRelative).toEqual([0])
    expect(second!.temperatureMk![0]).toBeCloseTo(8e-7 * 0.25 * 400_000, 12)
    const [heat1, heat2] = actsOf(component('self-heating-reference'), [pair], known)
    expect(heat1!.temperatureMk![0]).toBeCloseTo(0.225, 12)
    expect(heat2!.temperatureMk![0]).toBeCloseTo(0.075, 12)
    const [noise1, noise2] = actsOf(component('noise-reference'), [pair], known)
    expect(noise1!.temperatureMk![0]).toBeCloseTo(0.15, 12)
    expect(noise2!.temperatureMk![0]).toBeCloseTo(0.05, 12)
    expect([noise1!.estimate, noise2!.estimate]).toEqual(['reference 1', 'reference 2'])
    expect(noise1!.degreesOfFreedom).toEqual([9])
    const [linear1, linear2] = actsOf(component('bridge-linearity'), [pair], known)
    // 4e-8 of a ratio of 0.5, by the weights; the second's in mK.
    expect(linear1!.referenceRelative![0]).toBeCloseTo(6e-8, 18)
    expect(linear1!.temperatureMk).toEqual([0])
    expect(linear2!.referenceRelative).toEqual([0])
    expect(linear2!.temperatureMk![0]).toBeCloseTo(2e-8 * 400_000, 12)
    const [drift1, drift2] = actsOf(component('reference-drift', { figure: 1 }), [pair], known)
    expect(drift1!.temperatureMk).toEqual([0])
    expect(drift2!.referenceRelative).toEqual([0])
    expect(drift2!.temperatureMk![0]).toBeCloseTo(((0.5 * 4e-6) / ROOT_3) * 0.25 * 400_000, 12)
    const [certificate1, certificate2] = actsOf(component('reference-calibration'), [pair], known)
    expect([certificate1!.temperatureMk, certificate2!.temperatureMk]).toEqual([[1.5], [0.5]])
  })

  it('takes drift of a reference by the years since, as half-width of a rectangle', () => {
    const [act] = actsOf(component('reference-drift', { figure: 1 }), [point('a'), cell()], facts())
    // 1 mK a year, half a year, 4e-6 of R(WTP) for 1 mK.
    expect(act!.referenceRelative![0]).toBeCloseTo((0.5 * 4e-6) / ROOT_3, 18)
    expect(act!.referenceRelative![1]).toBe(0)
  })

  it('takes a certificate’s coefficients as common errors, and what it states beyond them beside', () => {
    const known = (stated: number) =>
      facts({ references: [ofReference({ calibrationMk: () => stated, calibrationModesMk: () => [3, 4] })] })
    const of = (stated: number) =>
      actsOf(component('reference-calibration'), [point('a'), cell()], known(stated))
    expect(of(13).map((a) => a.temperatureMk![0])).toEqual([3, 4, 12])
    expect(of(13).map((a) => a.temperatureMk![1])).toEqual([0, 0, 0])
    expect(of(13).map((a) => a.correlation?.kind)).toEqual(['common', 'common', undefined])
    // Coefficients explain 5 mK. Their certificate states 5.04 mK: that is rounding, and no component.
    expect(of(5.04)[2]!.temperatureMk![0]).toBe(0)
    expect(of(5.06)[2]!.temperatureMk![0]).toBeCloseTo(Math.sqrt(5.06 ** 2 - 25), 12)
    expect(of(4)[2]!.temperatureMk![0]).toBe(0)
    expect(actsOf(component('reference-calibration'), [point('a')], facts())).toEqual([
      { temperatureMk: [2] },
    ])
  })

  it('says that pairs of currents told self-heating only where they told it at every point', () => {
    const [told] = actsOf(component('self-heating-under-test'), [point('a'), point('b')], facts())
    expect(told).toMatchObject({ temperatureMk: [0.6, 0.6], degreesOfFreedom: [5, 5], distribution: 't' })
    expect(told!.source).toMatch(/pairs of currents/)
    const half = [point('a'), point('b', { underTestSelfHeatingDof: Number.POSITIVE_INFINITY })]
    const [mixed] = actsOf(component('self-heating-under-test'), half, facts())
    expect(mixed).not.toHaveProperty('source')
    expect(mixed!.degreesOfFreedom).toEqual([5, Number.POSITIVE_INFINITY])
    // A cell has no reference, whose pairs then told it everywhere they could.
    const [ofRef] = actsOf(component('self-heating-reference'), [point('a'), cell()], facts())
    expect(ofRef).toMatchObject({ temperatureMk: [0.3, 0], distribution: 't' })
    expect(ofRef!.degreesOfFreedom).toEqual([4, Number.POSITIVE_INFINITY])
  })

  it('lets hysteresis have the other sign on the way down, by what was seen where that is less than usual', () => {
    const figure = { figure: 1e-5 }
    const points = [point('up'), point('down'), cell()]
    // 1e-5 of 200 K is 2 mK between up and down, half of it a half-width.
    const [usual] = mkOf('hysteresis', points, facts(), figure)
    expect(usual).toEqual([1 / ROOT_3, 1 / ROOT_3, 0].map((x) => expect.closeTo(x, 12)))
    expect(mkOf('hysteresis', [point('a')], facts())).toEqual([[0]])
    const seen = (halfMk: number, found: boolean) =>
      actsOf(
        component('hysteresis', figure),
        points,
        facts({ hysteresis: { halfMk, found, down: new Set(['down']) } }),
      )[0]!
    expect(seen(0.6, false).temperatureMk).toEqual(
      [0.6 / ROOT_3, -0.6 / ROOT_3, 0].map((x) => expect.closeTo(x, 12)),
    )
    expect(seen(0.6, false).source).toMatch(/on the way up and on the way down/)
    // Seen and larger than usual: it counts. Not seen, and no better known than what is usual: that counts.
    expect(seen(3, true).temperatureMk![0]).toBeCloseTo(3 / ROOT_3, 12)
    expect(seen(3, false).temperatureMk![0]).toBeCloseTo(1 / ROOT_3, 12)
    expect(seen(1, false)).not.toHaveProperty('source')
  })

  it('adds the scatter that nothing else explains, in the bath alone', () => {
    expect(mkOf('repeatability', [point('a'), cell()], facts())).toEqual([[0, 0]])
    const [act] = actsOf(
      component('repeatability'),
      [point('a'), cell()],
      facts({ excess: { mk: 0.7, degreesOfFreedom: 3 } }),
    )
    expect(act).toMatchObject({ temperatureMk: [0.7, 0], degreesOfFreedom: [3, 3] })
  })

  it('takes a reference junction from the bench as a standard uncertainty, else from the template', () => {
    const couple = [point('a', { junctionPart: 0.5 }), cell({ junctionPart: 0.5 })]
    const values = { values: [{ celsius: 0, mk: 6 }] }
    expect(mkOf('reference-junction', couple, facts(), values)[0]![0]).toBeCloseTo(3 / ROOT_3, 12)
    const [stated] = actsOf(
      component('reference-junction', values),
      couple,
      facts({ underTestJunctionMk: 4 }),
    )
    expect(stated).toMatchObject({ temperatureMk: [2, 0], distribution: 'normal' })
  })

  it('takes a shunt R / R_i of each thermometer, of a reference measured with R(WTP) only the difference', () => {
    const known = (ratioFromSession: boolean) =>
      facts({
        references: [ofReference({ insulationOhm: 1e8, ratioFromSession })],
        insulationOhm: 2e8,
      })
    const [ofRef, own] = actsOf(component('insulation'), [point('a')], known(false))
    expect(ofRef!.referenceRelative![0]).toBeCloseTo(30 / 1e8 / ROOT_3, 18)
    expect(own!.underTestRelative![0]).toBeCloseTo(120 / 2e8 / ROOT_3, 18)
    const [difference] = actsOf(component('insulation'), [point('a')], known(true))
    expect(difference!.referenceRelative![0]).toBeCloseTo(5 / 1e8 / ROOT_3, 18)
    const [none, unknown] = actsOf(
      component('insulation'),
      [point('a', { references: [reference({ ohm: null })], underTestOhm: null })],
      known(false),
    )
    expect([none!.referenceRelative, unknown!.underTestRelative]).toEqual([[0], [0]])
  })

  it('takes the accuracy of a meter at the signal it showed', () => {
    const meter = { uRelative: (value: number) => 1 / value ** 2, source: 'record' }
    expect(actsOf(component('meter'), [point('a')], facts({ meter }))).toEqual([
      { underTestRelative: [1 / 120 ** 2], source: 'record' },
    ])
    expect(actsOf(component('meter'), [point('a')], facts())).toEqual([{ underTestRelative: [0] }])
  })

  it('takes the cell’s own uncertainty in a cell, and a fixed one in the bath', () => {
    const points = [point('a'), cell()]
    const normal = { values: [{ celsius: 0, mk: 0.2 }], distribution: 'normal' }
    expect(mkOf('cell', points, facts(), normal)).toEqual([[0, 0.2]])
    expect(mkOf('fixed', points, facts(), normal)).toEqual([[0.2, 0]])
    expect(mkOf('reference-disagreement', [point('a', { disagreementMk: 2 }), cell()], facts())).toEqual([
      [expect.closeTo(2 / ROOT_3, 12), 0],
    ])
  })
})

describe('heat along the stem, by a lift', () => {
  const usual = {
    values: [{ celsius: 0, mk: 5 }],
    distribution: 'normal' as const,
    replacedBy: 'lift' as const,
  }
  const lifted = (changeMk: number, uMk: number, liftMm = 40, celsius = 123) =>
    actsOf(
      component('fixed', usual),
      [point('a', { referenceC: 123 }), point('b', { referenceC: 73 }), cell()],
      facts({ lift: { changeMk, uMk, liftMm, celsius } }),
    )[0]!

  it('that was seen leaves d / (exp(l / 40 mm) - 1), less towards the temperature of the room', () => {
    // l = 40 mm, d = -10 mK: 10 / (e - 1) / root 3 at 100 K from 23 °C, half of it at 50 K.
    const u = 10 / (Math.E - 1) / ROOT_3
    const { temperatureMk, correlation, source } = lifted(-10, 1)
    expect(temperatureMk).toEqual([u, u / 2, 0].map((x) => expect.closeTo(x, 12)))
    expect(correlation).toEqual({ kind: 'common' })
    expect(source).toBe('lift by 40 mm in this session: -10.00 mK, u 1.00 mK')
  })

  it('that showed nothing leaves what it could have hidden, or what is usual where that is less', () => {
    // l = 15 mm: 1 / (e - 1) of the standard uncertainty of the change.
    const hidden = 1 / (Math.E - 1)
    expect(lifted(0.5, 1, 15).temperatureMk).toEqual(
      [hidden, hidden / 2, 0].map((x) => expect.closeTo(x, 12)),
    )
    expect(lifted(0.5, 1, 15).source).not.toMatch(/template/)
    // 20 mK of uncertainty hide more than the usual 5 mK: 11.6 mK at the one point, 5.8 mK at the other.
    expect(lifted(0.5, 20, 15).temperatureMk).toEqual([5, 5, 0])
    expect(lifted(0.5, 20, 15).source).toMatch(/^template; lift by 15 mm .* shows no more$/)
  })

  it('names what was taken at the point furthest from the temperature of the room', () => {
    const values = [
      { celsius: -80, mk: 50 },
      { celsius: 100, mk: 5 },
    ]
    // 11.6 mK are hidden at 123 °C, where 5 mK are usual; 12 mK at -80 °C, where 50 mK are.
    const [act] = actsOf(
      component('fixed', { ...usual, values }),
      [point('a', { referenceC: 123 }), point('b', { referenceC: -80 })],
      facts({ lift: { changeMk: 0.5, uMk: 20, liftMm: 15, celsius: 123 } }),
    )
    expect(act!.source).toBe('lift by 15 mm in this session: 0.50 mK, u 20.00 mK')
  })

  it('was seen beyond 2.576 standard uncertainties, and not just there', () => {
    expect(lifted(2.576, 1).temperatureMk![0]).toBeCloseTo(1 / (Math.exp(40 / 15) - 1), 12)
    expect(lifted(2.5761, 1).temperatureMk![0]).toBeCloseTo(2.5761 / (Math.E - 1) / ROOT_3, 12)
  })

  it('near the temperature of the room counts as made 1 K from it', () => {
    expect(lifted(-10, 1, 40, 23.5).temperatureMk![0]).toBeCloseTo((100 * 10) / (Math.E - 1) / ROOT_3, 9)
  })
})

describe('what a bath does at the places of a pair', () => {
  it('is half of the square of its stability at each of the two, added to the scatter of the one under test', () => {
    const { uMk, degreesOfFreedom } = underTestAtPlace(point('a', { underTestNoiseMk: 3 }), Math.SQRT2 * 4)
    expect(uMk).toBeCloseTo(5, 12)
    // JCGM 100:2008, (G.2b): 5^4 / (3^4 / 7).
    expect(degreesOfFreedom).toBeCloseTo((625 * 7) / 81, 9)
    expect(underTestAtPlace(point('a', { underTestNoiseMk: 0 }), 0)).toEqual({
      uMk: 0,
      degreesOfFreedom: Number.POSITIVE_INFINITY,
    })
  })

  it('is of a reference the larger of its scatter and of what is stated', () => {
    const of = (stability: number) => referenceAtPlace(point('a'), stability * Math.SQRT2)
    expect(of(0.1)).toEqual({ uMk: 0.2, degreesOfFreedom: 9 })
    expect(of(0.5)).toEqual({ uMk: expect.closeTo(0.5, 12), degreesOfFreedom: Number.POSITIVE_INFINITY })
    const two = point('a', {
      references: [
        reference({ weight: 0, noiseMk: 50, noiseDof: 2 }),
        reference({ weight: 0.5, noiseMk: 6, noiseDof: 3 }),
        reference({ weight: 0.5, noiseMk: 8, noiseDof: 4 }),
      ],
    })
    expect(referenceAtPlace(two, 1)).toEqual({ uMk: 5, degreesOfFreedom: 3 })
    // Both alike: the scatter's few degrees of freedom are kept.
    const alike = point('a', { references: [reference({ noiseMk: Math.SQRT1_2 })] })
    expect(referenceAtPlace(alike, 1).degreesOfFreedom).toBe(9)
  })

  it('stands in no budget twice: of the stability a reference has what its scatter does not show', () => {
    const known = facts({ bathStabilityMk: Math.SQRT2 * 0.5 })
    const still = point('b', { references: [reference({ noiseMk: 0.6 })] })
    const acts = stabilityActs(
      [point('a', { references: [reference({ noiseMk: 0.3 })] }), still, cell()],
      known,
    )
    expect(acts.map(({ temperatureMk, shared }) => [temperatureMk, shared ?? false])).toEqual([
      [[expect.closeTo(0.4, 12), 0, 0], true],
      [[expect.closeTo(-0.5, 12), expect.closeTo(-0.5, 12), -0], false],
    ])
    const unseen = stabilityActs([point('a', { unbracketedMk: 3 })], facts({ bathStabilityMk: 0 }))
    expect(unseen).toEqual([{ temperatureMk: [expect.closeTo(ROOT_3, 12)], shared: true }])
  })

  it('differs less between one thermometer and the mean of several references', () => {
    const three = point('b', { references: [0, 1, 2].map(() => reference({ weight: 1 / 3 })) })
    const [act] = actsOf(component('bath-uniformity'), [point('a'), three, cell()], facts())
    // Half of the square is the thermometer's place, half a third of it.
    expect(act!.temperatureMk).toEqual([1.5, expect.closeTo(1.5 * Math.sqrt(2 / 3), 12), 0])
    expect(act!.degreesOfFreedom).toEqual([6, 6, 6])
    expect(act!.source).toMatch(/^survey; half of its square/)
    const alone = actsOf(component('bath-uniformity'), [point('a'), cell()], facts())
    expect(alone).toEqual([{ temperatureMk: [1.5, 0], degreesOfFreedom: [6, 6], source: 'survey' }])
  })

  const errors = [
    { point: 'a', channel: 's0', of: 0, uMk: 0.2, degreesOfFreedom: 9, part: 0.5 },
    { point: 'a', channel: 'x1', of: 'under-test' as const, uMk: 0.4, degreesOfFreedom: 7, part: -0.5 },
    { point: 'a', channel: 'x2', of: 'another' as const, uMk: 0.8, degreesOfFreedom: 7, part: 0.25 },
  ]
  const places: PlacesKnown = { mk: 0, errors, betweenMk: 0.3, betweenDof: 2 }
  const corrected = (name: string, more: Partial<PairPoint> = {}) =>
    point(name, { references: [reference({ places, noiseMk: 0.6 })], underTestNoiseMk: 1, ...more })

  it('is carried by an exchange from the points of it to those that it corrects', () => {
    const points = [point('a'), corrected('b'), corrected('c'), cell()]
    const [own, carried] = actsOf(component('noise-reference'), points, facts())
    // At a, where the exchange was made, its reading acts on all three; b and c have one of their own each.
    expect(own!.temperatureMk).toEqual([0, 0.6, 0.6, 0])
    expect(carried).toMatchObject({ temperatureMk: [0.2, 0.1, 0.1, 0], correlation: { kind: 'common' } })
    const [ownTest, carriedTest] = actsOf(component('noise-under-test'), points, facts())
    expect(ownTest!.temperatureMk).toEqual([0, -1, -1, -0.4])
    expect(carriedTest!.temperatureMk).toEqual([-0.4, -0.2, -0.2, 0].map((x) => expect.closeTo(x, 12)))
    const [unknown, another, between] = actsOf(component('bath-uniformity'), points, facts())
    expect(unknown!.temperatureMk).toEqual([1.5, 0, 0, 0])
    expect(another).toMatchObject({ temperatureMk: [0, 0.2, 0.2, 0], correlation: { kind: 'common' } })
    expect(between).toMatchObject({ temperatureMk: [0, 0.3, 0.3, 0] })
    const never = Number.POSITIVE_INFINITY
    expect(between!.degreesOfFreedom).toEqual([never, 2, 2, never])
    expect(between!.source).toBe('exchange of places in this session')
  })

  it('has, where a thermometer was not read in the exchange, the size that its readings in the bath have', () => {
    const elsewhere = [cell({ underTestNoiseMk: 9 }), corrected('b', { underTestNoiseMk: 0 }), corrected('c')]
    const [, carried] = actsOf(component('noise-under-test'), elsewhere, facts())
    expect(carried!.temperatureMk).toEqual([0, -0.5, -0.5])
    const silent = [corrected('b', { underTestNoiseMk: 0 })]
    expect(actsOf(component('noise-under-test'), silent, facts())[1]!.temperatureMk).toEqual([-0])
  })
})
