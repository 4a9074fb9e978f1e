import { describe, expect, it } from 'vitest'
import { Bath, BathSurvey } from '../../../app/records/bath.ts'
import { Bench } from '../../../app/records/bench.ts'
import { READING_ORDERS } from '../../../app/records/plan.ts'
import { analyse } from '../../../app/results/analysis.ts'
import { meterFacts } from '../../../app/results/meter-accuracy.ts'
import { exchangeMk } from '../../../app/results/places.ts'
import { surveyOf, uniformityOf } from '../../../app/results/uniformity.ts'
import { HOSTILE_CASE_NAMES } from '../../../simulator/hostile/cases.ts'
import { quickNight } from '../../soak/hostile/night.ts'
import { type HostileRow, hostileScore, judgeNight } from '../../soak/hostile/score.ts'
import { missesOf } from '../../soak/hostile/soak.ts'

const night = (kind: Parameters<typeof quickNight>[0]['kind'], seed = 5, more = {}) => {
  const { input, lab } = quickNight({ kind, order: 'symmetric', seed, ...more })
  return { analysis: analyse({ ...input, options: { monteCarloTrials: 0 } }), lab, input }
}
const findings = (kind: Parameters<typeof night>[0], seed?: number) =>
  night(kind, seed).analysis.findings.map((f) => f.kind)

describe('a hostile laboratory', () => {
  it('is told, in a short form of the soak, in every case: little is wrong in silence', () => {
    const cases = HOSTILE_CASE_NAMES.filter((name) => name !== 'none')
    const hostile = hostileScore({ nights: 1, seed: 3, cases }).rows
    const quiet = hostileScore({ nights: 1, seed: 3, cases: ['none'] }).rows
    const share = (of: (r: HostileRow) => number, list: readonly HostileRow[]) =>
      list.reduce((sum, r) => sum + of(r) * r.results, 0) / list.reduce((sum, r) => sum + r.results, 0)
    expect(hostile.length).toBe(18 * 4 * 3)
    expect(hostile.reduce((sum, r) => sum + r.results, 0)).toBeGreaterThan(18 * 4 * 8)
    expect(share((r) => r.silentWrong, hostile)).toBeLessThan(0.05)
    expect(share((r) => r.within, quiet)).toBeGreaterThan(0.88)
    expect(share((r) => r.flagged, quiet)).toBeLessThan(0.25)
  }, 240_000)

  it('cries out in few quiet nights: each kind of check in one of a hundred', () => {
    const seeds = Array.from({ length: 12 }, (_, i) => 300 + i)
    const nights = seeds.map(
      (seed) => night('none', seed, { order: READING_ORDERS[seed % 3] }).analysis.findings,
    )
    expect(nights.filter((found) => found.length > 0).length).toBeLessThanOrEqual(2)
  })

  it('judges its goals by rows of at least 300 results', () => {
    const row = {
      case: 'hysteresis',
      kind: 'prt',
      order: 'symmetric',
      results: 300,
      within: 0.5,
      rms: 1,
      flagged: 0,
    } as const
    expect(missesOf({ ...row, silentWrong: 0.06 })).toHaveLength(1)
    expect(missesOf({ ...row, silentWrong: 0.06, results: 299 })).toEqual([])
    expect(missesOf({ ...row, case: 'none', within: 0.99, rms: 0.3, silentWrong: 0 })).toHaveLength(2)
  })

  it('gives back the offsets of places by an exchange, and takes them off', () => {
    const { analysis, lab } = night('gradient-larger')
    const { points } = analysis.thermometers.find((t) => t.record.channel.id === 'prt')!
    const at = points.find((p) => p.pair.point === 'p1')!
    const found = at.pair.references[0]!.places!
    const truth =
      (lab.truthOf('prt-1031').offsetK + lab.hostility.of('prt-1031').placeK(15, 0)) * 1e3 -
      lab.hostility.of('sprt-0147').placeK(15, 0) * 1e3
    const u = exchangeMk(found)
    expect(Math.abs(found.mk - truth)).toBeLessThan(3.5 * u)
  })

  it('says what moved: a jump of the reference, a drift since its certificate, a leak, a junction, a second reference, places further apart than stated', () => {
    expect(findings('reference-jump')).toContain('reference-changed')
    expect(findings('reference-drifted')).toContain('reference-moved')
    expect(findings('leak-reference')).toContain('reference-moved')
    expect(findings('leak-item')).toContain('insulation')
    expect(findings('junction')).toContain('zero-voltage')
    expect(findings('gradient-larger')).toContain('places-wide')
    // A second reference whose resistance has changed is told by its own R(WTP), which then stands in its place.
    expect(findings('references-disagree')).toContain('reference-moved')
  })

  it('says of slow noise, by what all thermometers show together, in most nights of it', () => {
    const nights = Array.from({ length: 9 }, (_, i) =>
      night('flicker', 40 + i, { order: READING_ORDERS[i % 3] }).analysis.findings.map((f) => f.kind),
    )
    expect(nights.filter((kinds) => kinds.length > 0).length).toBeGreaterThanOrEqual(7)
    expect(nights.filter((kinds) => kinds.includes('scatter')).length).toBeGreaterThanOrEqual(4)
  })

  it('lets R(WTP) of a reference move as far as its own limit allows, and no further', () => {
    const { input, analysis } = night('reference-jump')
    const moved = Math.abs(analysis.referenceWtp!.changeMk!)
    const kindsWith = (limitMk: number) => {
      const { register } = input.setup
      const thermometers = register.thermometers.map((t) =>
        t.id === analysis.reference.record.thermometer.id ? { ...t, wtpLimitMk: limitMk } : t,
      )
      const setup = { ...input.setup, register: { ...register, thermometers } }
      return analyse({ ...input, setup, options: { monteCarloTrials: 0 } }).findings.map((f) => f.kind)
    }
    expect(kindsWith(0.9 * moved)).toContain('reference-changed')
    expect(kindsWith(1.1 * moved)).not.toContain('reference-changed')
  })

  it('names the check that was left out, and only that one', () => {
    const { analysis } = night('none', 5, { without: 'lift' })
    expect(analysis.unmade.map((u) => u.check)).toEqual(['lift'])
    expect(night('none').analysis.unmade).toEqual([])
  })

  it('is drawn from its seed alone', () => {
    const once = () => judgeNight('gradient-turning', 'interleaved', 11).results.map((j) => j.errorMk)
    expect(once()).toEqual(once())
  })
})

describe('a survey of a bath', () => {
  const survey = {
    id: 's1',
    date: '2026-02-01',
    who: 'B. Wend',
    positions: [
      { name: 'rim', depthMm: 200 },
      { name: 'middle', depthMm: 200 },
    ],
    points: [
      { celsius: 0, uMk: 1, degreesOfFreedom: 6 },
      { celsius: 100, uMk: 3, degreesOfFreedom: 4 },
    ],
  }
  const bench = { id: 'b', name: 'Bench', instruments: [], channels: [] }
  const bath = {
    name: 'Bath',
    lowC: 0,
    highC: 100,
    safeC: 25,
    uniformityMk: 0.5,
    stabilityMk: 0,
  }
  const entry = Bath.parse({ id: 'bath-1', name: 'Bath', surveys: [survey] })
  const use = {
    bench: Bench.parse({ ...bench, bath: { ...bath, register: 'bath-1' } }),
    register: { baths: [entry] },
  }

  it('stands in place of the typed figure from its day on, with its degrees of freedom', () => {
    expect(surveyOf(use, '2026-01-31')).toBeUndefined()
    expect(uniformityOf(use, '2026-01-31').source).toMatch(/typed on the bench, without a date/)
    const found = uniformityOf(use, '2026-03-01')
    expect(found.uMk(50)).toBe(2)
    expect(found.degreesOfFreedom).toBe(4)
    expect(found.source).toMatch(/survey of 2026-02-01 by B. Wend: 2 positions/)
    // A session of before baths were in the register has them with its bench.
    const before = { bench: Bench.parse({ ...bench, bath: { ...bath, surveys: [survey] } }), register: {} }
    expect(uniformityOf(before, '2026-03-01').source).toBe(found.source)
  })

  it('is refused in words with fewer than two positions, or with an uncertainty below zero', () => {
    const words = (value: unknown) =>
      BathSurvey.safeParse(value)
        .error!.issues.map((i) => i.message)
        .join(' ')
    expect(words({ ...survey, positions: survey.positions.slice(1) })).toMatch(
      /at least two positions: name another/,
    )
    expect(words({ ...survey, points: [{ celsius: 0, uMk: -1, degreesOfFreedom: 3 }] })).toMatch(
      /not negative/,
    )
  })
})

describe('the accuracy of a meter', () => {
  it('is parts per million of the reading and of the range that holds it, as half-width', () => {
    const meter = {
      id: 'm',
      name: 'Meter',
      role: 'meter',
      maker: '',
      model: '',
      serial: '',
      accuracy: [
        {
          quantity: 'V',
          range: 1,
          readingPpm: 20,
          rangePpm: 5,
          perKelvinPpm: 0,
          withinK: 0,
          source: 'sheet',
        },
        {
          quantity: 'V',
          range: 0.1,
          readingPpm: 30,
          rangePpm: 10,
          perKelvinPpm: 2,
          withinK: 5,
          source: 'sheet',
        },
      ],
    } as const
    // 4 mV on 0.1 V: (30 + 2 * 5) ppm of 4 mV and 10 ppm of 0.1 V are 1.16 uV.
    const u = meterFacts({ ...meter, accuracy: [...meter.accuracy] }, 'V')!.uRelative(4)
    expect(u * 4e-3 * Math.sqrt(3)).toBeCloseTo(1.16e-6, 9)
    expect(meterFacts({ ...meter, accuracy: [] }, 'V')).toBeNull()
  })

  const input = quickNight({ kind: 'none', order: 'symmetric', seed: 5 }).input
  /** The meter's line in the budget of a channel's first point, with the instruments' records and profiles as they are given. */
  function lineOf(
    channel: string,
    given: { accuracy?: boolean; bridge?: boolean; profiles?: Record<string, object>; range?: string },
  ) {
    const { register, bench } = input.setup
    const instruments = register.instruments.map((each) => ({
      ...each,
      accuracy: given.accuracy === false ? undefined : each.accuracy,
      bridge: given.bridge === false ? undefined : each.bridge,
    }))
    const channels = bench.channels.map((each) =>
      each.id === channel ? { ...each, range: given.range } : each,
    )
    const texts = Object.entries(given.profiles ?? {}).map(([id, text]) => [id, JSON.stringify(text)])
    const setup = {
      ...input.setup,
      register: { ...register, instruments },
      bench: { ...bench, channels },
      profiles: Object.fromEntries(texts) as Record<string, string>,
    }
    const analysis = analyse({ ...input, setup, options: { monteCarloTrials: 0 } })
    const found = analysis.thermometers.find(({ record }) => record.channel.id === channel)!
    const line = found.points[0]!.budget.lines.find(({ component }) => component === 'meter')
    return { u: line?.u ?? 0, source: line?.source, remarks: analysis.remarks.join(' ') }
  }
  const accuracy = { readingPpm: 3.46, rangePpm: 1.73 }
  const voltmeter = {
    title: 'Meter DM-7',
    ranges: [
      { name: '0.1', upTo: 0.1, accuracy },
      { name: '1', upTo: 1, accuracy },
      { name: 'automatic', accuracy },
    ],
  }

  it('enters the budget from the profile where the register states none, by the range that was set', () => {
    const own = lineOf('couple', {})
    const profiles = { 'lab-dm-7-voltage': voltmeter }
    const told = lineOf('couple', { accuracy: false, profiles })
    expect(told.u).toBeCloseTo(own.u, 9)
    expect(told.source).toBe('accuracy in the profile Meter DM-7')
    expect(told.remarks).not.toMatch(/nor an accuracy/)
    const wide = lineOf('couple', { accuracy: false, profiles, range: '1' })
    expect(wide.source).toBe('accuracy in the profile Meter DM-7, range 1')
    expect(wide.u).toBeGreaterThan(5 * told.u)
    // The register's is of this very meter; of its ranges the one that was set counts.
    expect(lineOf('couple', { profiles }).source).toMatch(/data sheet of the DM-7/)
    const none = lineOf('couple', { accuracy: false })
    expect(none.u).toBe(0)
    expect(none.remarks).toMatch(/nor an accuracy/)
  })

  it('is that of the ratio for a bridge whose linearity the register does not state, and is never counted beside it', () => {
    const profiles = { 'lab-rb-8': { title: 'Bridge', ranges: [{ name: 'all', upTo: 4, accuracy }] } }
    expect(lineOf('prt', { profiles }).u).toBe(0)
    const told = lineOf('prt', { bridge: false, profiles, range: 'all' })
    expect(told.source).toBe('accuracy in the profile Bridge, range all')
    expect(told.u).toBeGreaterThan(0.5)
  })
})
