import { describe, expect, it } from 'vitest'
import { FitView, Thread } from '../../../app/contract/studies.ts'
import type { SessionEvent } from '../../../app/records/session.ts'
import type { Block } from '../../../app/report/blocks.ts'
import { buildReport, reportJson, StoredReport } from '../../../app/report/content.ts'
import { reportHtml } from '../../../app/report/html.ts'
import { compareNumbers, signedNumbers } from '../../../app/report/proof.ts'
import { threadOf, threadsOf } from '../../../app/report/provenance.ts'
import { analyse } from '../../../app/results/analysis.ts'
import { fitViews } from '../../../app/results/analysis-view.ts'
import { templateFor } from '../../../app/results/uncertainty-template.ts'
import { simulate } from '../../report/fixture.ts'

const { input } = simulate({ seed: 2 })
const analysis = analyse({ ...input, options: { monteCarloTrials: 20_000 } })
const report = buildReport(analysis)

const act = (
  n: number,
  kind: SessionEvent['kind'],
  who: string,
  data: Record<string, unknown>,
): SessionEvent => ({
  n,
  utcUs: Date.parse('2026-03-04T08:00:00Z') * 1000 + n * 3600e6,
  monoUs: 0,
  kind,
  who,
  subject: null,
  words: 'words',
  data,
})

const wordsOf = (blocks: readonly Block[]) => JSON.stringify(blocks)
const changesIn = (blocks: readonly Block[]) =>
  blocks.flatMap((block) =>
    block.kind === 'table' && block.caption === 'Changes after the readings' ? block.rows : [],
  )

describe('buildReport', () => {
  it('states every finding that speaks against the results, and every check that was not made', () => {
    const analysis = analyse({ ...simulate().input, options: { monteCarloTrials: 0 } })
    const words = wordsOf(buildReport(analysis, { decimalSign: '.' }).blocks)
    expect(analysis.unmade.length).toBeGreaterThan(0)
    for (const said of [...analysis.findings, ...analysis.unmade]) expect(words).toContain(said.words)
  })

  it('holds what ISO/IEC 17025:2017, 7.8.2.1 and 7.8.4.1, list', () => {
    const words = wordsOf(report.blocks)
    for (const asked of [
      'Calibration certificate', // title
      'Quennick Temperature Laboratory', // name
      '4 Millrace Lane', // address
      'Place of calibration', // location of the activity
      'QTL-2026-0147, version 1', // unique identification
      'End of QTL-2026-0147, version 1.', // clear identification of the end
      'Bramblewick Dairy', // customer
      'settled', // method
      '77031', // unambiguous identification of the item
      'received clean and undamaged', // condition of the item
      '2026-02-24', // date of receipt
      '2026-03-01 19:00 UTC', // dates of performance
      'Date of issue', // date of issue
      'relate only to the items calibrated', // statement
      'reproduced only in full', // statement
      'JCGM 100:2008', // uncertainty
      'Air temperature', // conditions
      'lead to the International System of Units', // traceability
      'QTI-2025-1187', // certificate of the reference
      'Authorised by', // authorisation
      'not a safety device', // the usual cautions
      'names of the items are as the customer gave them', // 7.8.2.2
      'Values in force on the day', // what the chain to the SI rests on
      'Correlation of the coefficients', // what the uncertainty of a temperature needs
      'Annex: where the components of the budgets come from',
    ]) {
      expect(words, asked).toContain(asked)
    }
  })

  it('says how signals were measured', () => {
    expect(wordsOf(report.blocks)).toContain('Resistances were measured as ratios to a reference resistor')
    expect(wordsOf(report.blocks)).not.toContain('directly with a meter')
    expect(wordsOf(report.blocks)).not.toContain('thermal voltages')
  })

  it('has its remarks under a heading of their own', () => {
    const at = report.blocks.findIndex((b) => b.kind === 'heading' && b.text === 'Remarks')
    expect(report.blocks[at]).toMatchObject({ level: 2 })
    expect(report.blocks[at + 1]).toEqual({
      kind: 'list',
      items: ['No check thermometer was in the bath.'],
    })
  })

  const built = (
    change: (setup: typeof input.setup) => void,
    more: readonly SessionEvent[] = [],
    options: Parameters<typeof analyse>[0]['options'] = {},
  ) => {
    const setup = structuredClone(input.setup)
    change(setup)
    const events = [...input.events, ...more]
    return buildReport(analyse({ ...input, setup, events, options: { monteCarloTrials: 0, ...options } }))
  }

  it('states nothing that nobody entered', () => {
    const words = wordsOf(built(({ register }) => delete register.instruments[0]!.certificate).blocks)
    for (const asserted of [
      'own check',
      'own laboratory',
      'external provider',
      'Opinions',
      'no deviations',
      'no adjustment',
      'results are traceable',
      'wire-wound',
      'Conformity with class',
    ])
      expect(words, asserted).not.toContain(asserted)
    expect(words).toContain('Metrological traceability is not shown in full')
    expect(words).toMatch(/Ratio bridge RB-8: the register does not state the number of its certificate/)
  })

  it('calls results traceable once every link names its certificate, its laboratory and who accredits it', () => {
    const whole = built(({ register }) => {
      const right = { laboratory: 'Quennick Institute of Thermometry', accreditation: 'CMC, invented' }
      for (const { calibrations } of register.thermometers)
        for (const c of calibrations) Object.assign(c, right)
      for (const { calibrations } of register.resistors) for (const c of calibrations) Object.assign(c, right)
      for (const instrument of register.instruments) Object.assign(instrument, right)
    })
    expect(wordsOf(whole.blocks)).toContain('traceable to the International System of Units')
    expect(wordsOf(whole.blocks)).not.toContain('not shown in full')
  })

  it('prints the answers of the signer, and those only', () => {
    const statements = {
      deviations: 'The bath was filled anew after point 3.',
      externalProviders: null,
      adjustment: null,
      opinions: null,
      customerSupplied: 'Names of the items',
    }
    const words = wordsOf(built(() => {}, [act(9, 'sign-off', 'C. Hale', { statements })]).blocks)
    expect(words).toContain('The bath was filled anew after point 3.')
    expect(words).toContain('none, as the signer states')
    const bare = wordsOf(built(() => {}, [act(9, 'sign-off', 'C. Hale', {})]).blocks)
    expect(bare).not.toContain('as the signer states')
  })

  it('judges the class that was asked for, by the rule agreed, for the element as stated', () => {
    const ask = (setup: typeof input.setup) => {
      setup.job!.wishes = { 'prt-x1': { conformity: { class: 'B', rule: 'simple' }, languages: ['en'] } }
      setup.register.thermometers.find((t) => t.id === 'prt-x1')!.construction = 'film'
    }
    const words = wordsOf(built(ask).blocks)
    expect(words).toContain('Conformity with class B of IEC 60751:2022, film element as stated')
    expect(words).toContain('simple acceptance')
    expect(words.match(/Conformity with class/g)).toHaveLength(1)
  })

  it('names the items of each rule where several were agreed, and none where all have the same', () => {
    const ask = (rules: readonly ('simple' | 'guarded')[]) => (setup: typeof input.setup) => {
      for (const t of setup.register.thermometers) if (t.kind === 'prt') t.construction = 'wire-wound'
      setup.job!.wishes = Object.fromEntries(
        rules.map((rule, i) => [
          `prt-x${i + 1}`,
          { conformity: { class: 'B' as const, rule }, languages: ['en' as const] },
        ]),
      )
    }
    const two = wordsOf(built(ask(['simple', 'guarded'])).blocks)
    expect(two).toMatch(/Decision rule for 77031\. Binary/)
    expect(two).toMatch(/Decision rule for 77131\. Non-binary/)
    const one = wordsOf(built(ask(['simple', 'simple'])).blocks)
    expect(one).toContain('Decision rule. Binary')
    expect(one).not.toContain('Decision rule for')
  })

  it('judges as before where a report of before is computed again', () => {
    const words = wordsOf(built(() => {}, [], { judging: 'narrowest' }).blocks)
    expect(words).toMatch(/Conformity with class AA? of IEC 60751:2008, tolerance classes of wire-wound/)
  })

  it('names the country, the premises and the item, and no code or id of the program', () => {
    const words = wordsOf(built(() => {}).blocks)
    expect(words).toContain('Ireland')
    expect(words).toContain('permanent premises')
    expect(words).toContain('S/N 77031: 250 mm')
    expect(words).not.toMatch(/Country code|bench Oil bath|"p3"/)
  })

  it('lists the bath that was set and the scanners on the way, and not what else stands on the bench', () => {
    const { input } = simulate()
    const { bench, register } = input.setup
    const [like, bridge] = [register.instruments[0]!, bench.instruments[0]!]
    const beside = [
      ['bath', 'set-bath'],
      ['bath', 'other-bath'],
      ['scanner', 'scanner'],
      ['scanner', 'spare-scanner'],
      ['environment', 'room'],
    ] as const
    const setup = {
      ...input.setup,
      bench: {
        ...bench,
        bath: { ...bench.bath!, instrument: 'set-bath' },
        instruments: [...bench.instruments, ...beside.map(([, id]) => ({ ...bridge, id, register: id }))],
      },
      register: {
        ...register,
        instruments: [
          ...register.instruments,
          ...beside.map(([role, id]) => ({ ...like, id, role, name: id, serial: `S-${id}` })),
        ],
      },
    }
    const analysis = analyse({ ...input, setup, options: { monteCarloTrials: 0 } })
    const words = wordsOf(buildReport(analysis, { decimalSign: '.' }).blocks)
    const listed = beside.filter(([, id]) => words.includes(`S-${id}`)).map(([, id]) => id)
    expect(listed).toEqual(['set-bath', 'scanner', 'room'])
  })

  it('recommends no calibration interval, which 7.8.4.3 forbids unless agreed', () => {
    expect(wordsOf(report.blocks)).not.toMatch(/recalibrat|next calibration|interval of/i)
  })

  it('is a draft until a named person signs it off', () => {
    expect(report.status).toBe('draft')
    expect(wordsOf(report.blocks)).toContain('No person has authorised these results')
    const signed = buildReport(
      analyse({
        ...input,
        events: [...input.events, act(9, 'sign-off', 'C. Hale', { remark: '' })],
        options: { monteCarloTrials: 0 },
      }),
    )
    expect(signed.status).toBe('signed')
    expect(signed.authorisedBy).toBe('C. Hale')
    expect(wordsOf(signed.blocks)).not.toContain('No person has authorised')
  })

  it('makes an amendment after the sign-off a new version that names what it replaces', () => {
    const events = [
      ...input.events,
      act(9, 'sign-off', 'C. Hale', {}),
      act(10, 'amendment', 'B. Wend', {
        target: { what: 'point', point: 'p5', channel: 'x1' },
        restore: false,
        why: 'probe was moved',
      }),
    ]
    const amended = buildReport(analyse({ ...input, events, options: { monteCarloTrials: 0 } }))
    expect(amended.version).toBe(2)
    expect(amended.status).toBe('draft')
    expect(amended.replaces).toEqual({
      number: 'QTL-2026-0147',
      version: 1,
      why: 'point p5, channel X1, left out: probe was moved',
    })
    expect(wordsOf(amended.blocks)).toContain(
      'replaces QTL-2026-0147, version 1, issued 2026-03-04 and authorised by C. Hale, which is withdrawn',
    )
    expect(changesIn(amended.blocks).map(([version]) => version)).toEqual(['2, replaces 1'])
  })

  it('counts changes before the first sign-off within version 1', () => {
    const events = [
      ...input.events,
      act(9, 'decision', 'B. Wend', {
        act: 'leave-out',
        point: 'p5',
        why: 'stirrer stood still',
        restore: false,
      }),
    ]
    const changed = buildReport(analyse({ ...input, events, options: { monteCarloTrials: 0 } }))
    expect(changed.version).toBe(1)
    expect(wordsOf(changed.blocks)).toContain('stirrer stood still')
    expect(changesIn(changed.blocks).map(([version]) => version)).toEqual(['1'])
  })

  it('compares both methods at every point and along the curve, with tolerance and verdict', () => {
    const compared = report.twoMethods.find((m) => m.channel === 'x1')!
    const points = analysis.thermometers[0]!.points.filter((p) => p.included && !p.pair.cell)
    const { agree, differ, open } = compared.verdicts
    expect(agree + differ + open).toBe(2 * points.length)
    expect(compared.words).toMatch(/JCGM 100 and JCGM 101 agree in/)
    const [difference, tolerance] = ['difference', 'tolerance'].map(
      (what) => report.numbers[`x1.jcgm101.p2.curve-${what}`]!.exact,
    )
    const row = analysis.thermometers[0]!.monteCarlo!.rows.find(
      (r) => r.point === 'p2' && r.what === 'curve',
    )!
    expect(difference).toBe(Math.max(row.lowDifference, row.highDifference))
    expect(tolerance).toBe(row.tolerance)
  })

  it('says which interval to use, and why, where the methods differ', () => {
    const template = structuredClone(templateFor('prt'))
    const components = template.components.map((c) =>
      c.id === 'immersion'
        ? { ...c, values: [{ celsius: 0, mk: 200 }], correlation: { kind: 'common' as const } }
        : c,
    )
    const wide = buildReport(
      analyse({
        ...input,
        options: { monteCarloTrials: 80_000, templates: [{ ...template, components }] },
      }),
    )
    const { words, verdicts } = wide.twoMethods.find((m) => m.channel === 'x1')!
    expect(verdicts.differ).toBeGreaterThan(0)
    expect(words).toMatch(/that of JCGM 101 is the narrower, by up to \d+ mK/)
    expect(words).toMatch(/not normal dominates/)
    expect(words).toMatch(/is the one to use/)
  })

  it('gives correlations with which u of a temperature comes out as the budget has it', () => {
    const names = ['r0', 'a', 'b']
    const exact = (key: string) => report.numbers[key]!.exact
    const u = names.map((n) => exact(`x1.correlation.${n}:u`))
    const { fit } = analysis.thermometers[0]!
    const { conversion } = fit!.fit
    if (conversion.kind !== 'callendar-van-dusen') throw new Error('not the model')
    const [r0, a, b] = [Number(conversion.r0), Number(conversion.a), Number(conversion.b)]
    const t = 60
    const slope = r0 * (a + 2 * b * t)
    const gradient = [1 + a * t + b * t * t, r0 * t, r0 * t * t].map((g) => g / slope)
    let variance = 0
    for (let i = 0; i < 3; i++) {
      for (let j = 0; j < 3; j++) {
        const [low, high] = [names[Math.min(i, j)]!, names[Math.max(i, j)]!]
        const r = i === j ? 1 : exact(`x1.correlation.${high}:${low}`)
        variance += gradient[i]! * gradient[j]! * r * u[i]! * u[j]!
      }
    }
    const lines = fit!
      .atTemperature(t)
      .lines.filter((l) => fit!.sources.some((s) => s.component === l.component))
    const budget = Math.sqrt(lines.reduce((sum, l) => sum + l.u ** 2, 0))
    expect((Math.sqrt(variance) * 1e3) / budget).toBeCloseTo(1, 3)
  })

  it('states every value to the place of its uncertainty', () => {
    for (const what of ['residual', 'signal', 't90']) {
      const { value } = report.numbers[`x1.point.p3.${what}`]!
      const places = value.split('.')[1]?.length ?? 0
      // U of 3 mK: tenths of a millikelvin, and what they are in ohm and degrees.
      expect(places, what).toBe({ residual: 1, signal: 4, t90: 4 }[what])
    }
    const point = report.numbers['x1.point.p3.expanded']!
    expect(point.uncertainty).toMatch(/^\d\.\d$/)
    const coefficient = report.numbers['x1.coefficient.r0']!
    expect(coefficient.value.split('.')[1]!.length).toBe(coefficient.uncertainty!.split('.')[1]!.length + 3)
  })

  it('gives an interpolation table whose rounded coefficients give it back', () => {
    const r0 = Number(report.numbers['x1.coefficient.r0']!.value)
    const a = Number(report.numbers['x1.coefficient.a']!.value)
    const b = Number(report.numbers['x1.coefficient.b']!.value)
    for (const t of [0, 10, 50, 100]) {
      const stated = Number(report.numbers[`x1.table.${t}.signal`]!.value)
      expect(r0 * (1 + a * t + b * t * t)).toBeCloseTo(stated, 4)
    }
  })

  it('states points also in the unit that the bench shows the thermometer in', () => {
    const result = analysis.thermometers.find(({ record }) => record.channel.id === 'x1')!
    const inKelvin = {
      ...result,
      record: { ...result.record, channel: { ...result.record.channel, unit: 'K' as const } },
    }
    const own = { ...analysis, thermometers: [inKelvin] }
    const book = buildReport(own)
    const kelvin = book.numbers['x1.point.p3.own']!
    expect(kelvin.unit).toBe('K')
    expect(Number(kelvin.value)).toBeCloseTo(Number(book.numbers['x1.point.p3.t90']!.value) + 273.15, 4)
    expect(threadOf(own, book, 'x1.point.p3.own').inputs[0]!.key).toBe('x1.point.p3.t90')
    expect(report.numbers['x1.point.p3.own']).toBeUndefined()
  })

  it('can be written with a decimal comma without a number changing', () => {
    const comma = buildReport(analysis, { decimalSign: ',' })
    expect(comma.numbers).toEqual(report.numbers)
    expect(reportHtml(comma)).toMatch(/100,02\d+/)
  })
})

describe('reportJson', () => {
  it('is a stored report that can be read back, with a thread for every number', () => {
    const text = reportJson(report, threadsOf(analysis, report))
    const stored = StoredReport.parse(JSON.parse(text))
    expect(Object.keys(stored.numbers).length).toBeGreaterThan(300)
    expect(Object.keys((stored as unknown as { threads: object }).threads)).toEqual(
      Object.keys(stored.numbers),
    )
    expect(text.endsWith('}\n')).toBe(true)
  })
})

describe('threadOf', () => {
  it('unfolds every number of the report into what the contract takes', () => {
    for (const key of Object.keys(report.numbers)) {
      const thread = Thread.parse(threadOf(analysis, report, key))
      expect(thread.formula.length, key).toBeGreaterThan(5)
      expect(thread.source.length, key).toBeGreaterThan(3)
      for (const input of thread.inputs)
        if (input.key !== null) expect(report.numbers[input.key], key).toBeDefined()
    }
  })

  it('leads from a coefficient to readings', () => {
    const coefficient = threadOf(analysis, report, 'x3.coefficient.a')
    const signal = threadOf(
      analysis,
      report,
      coefficient.inputs.find((i) => i.key?.endsWith('p4.signal'))!.key!,
    )
    expect(signal.readings).toMatchObject({ channel: 'x3', count: 30 })
    const temperature = threadOf(analysis, report, 'x3.point.p4.t90')
    expect(temperature.readings!.channel).toBe('s0')
    expect(temperature.inputs.map((i) => i.words).join(' ')).toContain('QTI-2025-1187')
    // The register states 1.1 mK of the reference; one that is not known to warm itself has nothing taken off.
    const heating = (of: typeof temperature) => of.inputs.filter((i) => i.name === 'Self-heating taken off')
    expect(heating(temperature)).toMatchObject([{ unit: 'mK' }])
    const setup = structuredClone(input.setup)
    for (const t of setup.register.thermometers) delete t.selfHeatingMk
    const cold = analyse({ ...input, setup, options: { monteCarloTrials: 0 } })
    expect(heating(threadOf(cold, buildReport(cold), 'x3.point.p4.t90'))).toEqual([])
  })

  it('refuses a key the report does not have', () => {
    expect(() => threadOf(analysis, report, 'x9.point.p1.t90')).toThrow(/no number under the key/)
  })
})

describe('compareNumbers', () => {
  it('finds one digit that is not the same', () => {
    const { numbers } = signedNumbers(report)
    const [value, u, k] = numbers['x1.coefficient.r0']!
    const changed = {
      ...numbers,
      'x1.coefficient.r0': [`${value.slice(0, -1)}${(Number(value.at(-1)) + 1) % 10}`, u, k] as [
        string,
        string | null,
        string | null,
      ],
    }
    expect(compareNumbers(numbers, numbers)).toEqual([])
    expect(compareNumbers(changed, numbers).map((d) => d.key)).toEqual(['x1.coefficient.r0'])
  })

  it('finds a number that is on one side only', () => {
    const { numbers } = signedNumbers(report)
    const { 'x1.coefficient.r0': _gone, ...rest } = numbers
    expect(compareNumbers(rest, numbers)).toHaveLength(1)
  })
})

describe('fitViews', () => {
  it('gives the window what the contract takes', () => {
    const views = fitViews(analysis).map((v) => FitView.parse(v))
    expect(views.map((v) => v.channel)).toEqual(['x1', 'x2', 'x3', 'x4'])
    expect(views[0]!.points[3]!.budget[0]!.uMk).toBeGreaterThan(views[0]!.points[3]!.budget[1]!.uMk)
    expect(views[0]!.band).toHaveLength(41)
    expect(views[3]!.band[0]!.deviationMk).toBeNull()
  })
})

describe('reportHtml', () => {
  const hostile = {
    ...input,
    setup: {
      ...input.setup,
      job: {
        ...input.setup.job!,
        customer: '<script>alert(1)</script>',
        remarks: ['"><img src=x onerror=y>'],
      },
      laboratory: { ...input.setup.laboratory, logo: 'https://example.org/x.png', name: 'A & B </style><b>' },
    },
  }
  const html = reportHtml(buildReport(analyse({ ...hostile, options: { monteCarloTrials: 0 } })))

  it('lets nothing of the record become markup', () => {
    expect(html).not.toContain('<script>alert')
    expect(html).not.toContain('<img src=x')
    expect(html).not.toContain('</style><b>')
    expect(html).toContain('&#60;script&#62;')
  })

  it('asks the network for nothing: no address, no picture from elsewhere, no script', () => {
    expect(html).not.toMatch(/src="https?:|href=|url\(https?:|<script/)
    expect(html).not.toContain('example.org')
    expect(html).toContain("default-src 'none'")
  })

  it('draws its plots as inline SVG and knows light, dark and print', () => {
    expect(html.match(/<svg /g)!.length).toBeGreaterThan(10)
    expect(html).toContain('prefers-color-scheme:dark')
    expect(html).toContain('@media print')
  })
})
