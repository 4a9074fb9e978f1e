import type { Analysis, PointResult, ThermometerResult } from '../comparison/analysis.ts'
import type { BudgetLine } from '../comparison/analysis-fit.ts'
import { standardOhm } from '../comparison/conformity.ts'
import type { Block, Cell } from './blocks.ts'
import { coverageOf, type NumberBook, uncertaintyOf } from './numbers.ts'
import { freedomText } from './rounding.ts'
import { coefficientName, deviationEquation, KIND_WORDS, MODEL_WORDS } from './words.ts'

/** A residual or difference needs one place more than an uncertainty to be read as such. */
const RESIDUAL_LIKE_MK = 0.1

const VERDICT_WORDS = {
  pass: 'pass',
  'conditional-pass': 'conditional pass',
  'conditional-fail': 'conditional fail',
  fail: 'fail',
} as const

function pointsTable(result: ThermometerResult, book: NumberBook): Block {
  const { record, signalUnit } = result
  const id = record.channel.id
  const unit = signalUnit === 'ohm' ? 'Ω' : 'mV'
  const rows = result.points.map((point): Cell[] => {
    const { pair, budget } = point
    const key = `${id}.point.${pair.point}`
    const name = `${record.thermometer.name}, point ${pair.point}`
    const perK = Math.abs((pair.underTest.signal / pair.underTestMkPerRelative) * 1e3)
    const noise = pair.underTestNoiseMk * 2e-3 * perK
    const label = pair.cell
      ? `${pair.point} (cell)`
      : pair.label
        ? `${pair.point} (${pair.label})`
        : pair.point
    const measured = book.add(`${key}.signal`, {
      name: `${name}: signal at zero current`,
      value: pair.underTest.signal,
      unit,
      roundLike: noise > 0 ? noise : budget.expanded * 1e-4 * perK,
    })
    const celsius = book.add(`${key}.t90`, {
      name: `${name}: reference temperature`,
      value: pair.referenceC,
      unit: '°C',
      roundLike: budget.expanded * 1e-3,
      extraPlaces: 1,
    })
    book.add(`${key}.expanded`, {
      name: `${name}: expanded uncertainty`,
      value: budget.expanded,
      unit: 'mK',
      expanded: budget.expanded,
      k: budget.k,
    })
    const residual = book.add(`${key}.residual`, {
      name: `${name}: fit less reference`,
      value: point.residualMk,
      unit: 'mK',
      roundLike: RESIDUAL_LIKE_MK,
    })
    const leaveOneOut: Cell =
      point.leaveOneOutMk === null || pair.cell
        ? 'none'
        : book.add(`${key}.leave-one-out`, {
            name: `${name}: fit without this point less reference`,
            value: point.leaveOneOutMk,
            unit: 'mK',
            roundLike: RESIDUAL_LIKE_MK,
          })
    return [
      point.included ? label : `${label}, left out`,
      celsius,
      measured,
      residual,
      leaveOneOut,
      uncertaintyOf(`${key}.expanded`),
      coverageOf(`${key}.expanded`),
    ]
  })
  return {
    kind: 'table',
    caption: 'Points',
    columns: [
      { head: 'Point', align: 'left' },
      { head: 't90, reference', unit: '°C', align: 'decimal' },
      { head: signalUnit === 'ohm' ? 'R' : 'E', unit, align: 'decimal' },
      { head: 'Fit − reference', unit: 'mK', align: 'decimal' },
      { head: 'Without the point', unit: 'mK', align: 'decimal' },
      { head: 'U', unit: 'mK', align: 'decimal' },
      { head: 'k', align: 'decimal' },
    ],
    rows,
    note:
      (result.selfHeating === 'zero-current'
        ? 'Resistances are corrected to zero current. '
        : `Resistances hold for the measuring current of ${record.channel.currentMa} mA; the self-heating is not known. `) +
      'U is the expanded uncertainty of the reference temperature together with the signal, as a temperature.',
  }
}

function coefficientsTable(result: ThermometerResult, book: NumberBook): Block {
  const { record, fit } = result
  const id = record.channel.id
  const conversion = fit!.fit.conversion
  const rows = result.coefficients.map((c): Cell[] => {
    const key = `${id}.coefficient.${c.name}`
    const value = book.add(key, {
      name: `${record.thermometer.name}: ${coefficientName(result.model, c.name)}`,
      value: c.value,
      unit: c.unit,
      expanded: c.budget.expanded,
      k: c.budget.k,
      extraPlaces: 3,
    })
    return [
      coefficientName(result.model, c.name),
      value,
      uncertaintyOf(key),
      coverageOf(key),
      c.unit === '1' ? '1' : c.unit,
    ]
  })
  if (conversion.kind === 'callendar-van-dusen' && !result.coefficients.some((c) => c.name === 'c')) {
    rows.push([
      'C',
      book.add(`${id}.coefficient.c`, {
        name: 'C, held at the value of IEC 60751',
        value: Number(conversion.c ?? 0),
        unit: '1/°C⁴',
        roundLike: 1e-14,
      }),
      'held',
      '',
      '1/°C⁴',
    ])
  }
  const { equation, name, source } = MODEL_WORDS[result.model]!
  const written = conversion.kind === 'its90' ? deviationEquation(conversion.subrange ?? '') : equation
  const [low, high] = [result.band[0]?.celsius ?? 0, result.band.at(-1)?.celsius ?? 0]
  return {
    kind: 'table',
    caption: `Coefficients: ${name}${conversion.kind === 'its90' ? `, subrange ${conversion.subrange}` : ''}`,
    columns: [
      { head: 'Coefficient', align: 'left' },
      { head: 'Value', align: 'decimal' },
      { head: 'U', align: 'decimal' },
      { head: 'k', align: 'decimal' },
      { head: 'Unit', align: 'left' },
    ],
    rows,
    note:
      `${written} (${source}). Valid from ${low.toFixed(2)} °C to ${high.toFixed(2)} °C. The coefficients are correlated and belong together; they carry three places more ` +
      'than their uncertainties so that rounding does not move a temperature.',
  }
}

function interpolationTable(result: ThermometerResult, book: NumberBook): Block {
  const id = result.record.channel.id
  const unit = result.signalUnit === 'ohm' ? 'Ω' : 'mV'
  const rows = result.table.map((at): Cell[] => {
    const key = `${id}.table.${at.celsius}`
    const name = `${result.record.thermometer.name} at ${at.celsius} °C`
    const signal = book.add(`${key}.signal`, {
      name,
      value: at.signal,
      unit,
      roundLike: Math.abs(at.budget.expanded * 1e-3 * at.signalPerK),
      extraPlaces: 1,
    })
    const slope = book.add(`${key}.slope`, {
      name: `${name}: slope`,
      value: at.signalPerK,
      unit: `${unit}/K`,
      roundLike: Math.abs(at.signalPerK) * 1e-3,
    })
    book.add(`${key}.expanded`, {
      name: `${name}: expanded uncertainty`,
      value: at.budget.expanded,
      unit: 'mK',
      expanded: at.budget.expanded,
      k: at.budget.k,
    })
    return [
      String(at.celsius),
      signal,
      slope,
      uncertaintyOf(`${key}.expanded`),
      coverageOf(`${key}.expanded`),
    ]
  })
  return {
    kind: 'table',
    caption: 'Interpolation table',
    columns: [
      { head: 't90', unit: '°C', align: 'decimal' },
      { head: result.signalUnit === 'ohm' ? 'R' : 'E', unit, align: 'decimal' },
      { head: 'Slope', unit: `${unit}/K`, align: 'decimal' },
      { head: 'U', unit: 'mK', align: 'decimal' },
      { head: 'k', align: 'decimal' },
    ],
    rows,
    note: 'Calculated with the coefficients above; U holds for a temperature found with them at the time of calibration.',
  }
}

function budgetRows(key: string, lines: readonly BudgetLine[], book: NumberBook, whole: number): Cell[][] {
  return lines
    .filter((line) => line.u > 0)
    .map((line) => [
      line.name,
      line.kind,
      line.distribution,
      line.correlation,
      book.size(`${key}.${line.component}`, `${line.name}: standard uncertainty`, line.u, 'mK'),
      freedomText(line.degreesOfFreedom),
      `${((100 * line.u * line.u) / (whole * whole)).toFixed(1)}`,
    ])
}

/** The budget of the point that has the largest uncertainty, and what it makes of the curve there. */
function budgetBlocks(result: ThermometerResult, book: NumberBook): Block[] {
  const inBath = result.points.filter((p) => p.included && !p.pair.cell)
  const worst = inBath.toSorted((a, b) => b.curve.expanded - a.curve.expanded)[0]
  if (!worst) return []
  const { curve, pair } = worst
  const key = `${result.record.channel.id}.budget.${pair.point}`
  const rows = budgetRows(key, curve.lines, book, curve.u)
  rows.push(
    [
      'Combined standard uncertainty',
      '',
      '',
      '',
      book.size(`${key}.combined`, 'Combined standard uncertainty', curve.u, 'mK'),
      freedomText(curve.degreesOfFreedom),
      '100',
    ],
    [
      `Expanded uncertainty, k = ${curve.k.toFixed(2)}`,
      '',
      '',
      '',
      book.size(`${key}.expanded`, 'Expanded uncertainty', curve.expanded, 'mK'),
      '',
      '',
    ],
  )
  return [
    {
      kind: 'table',
      caption: `Uncertainty budget of a temperature found with the coefficients, at ${pair.referenceC.toFixed(1)} °C (the point with the largest U)`,
      columns: [
        { head: 'Component', align: 'left' },
        { head: 'Type', align: 'left' },
        { head: 'Distribution', align: 'left' },
        { head: 'Between points', align: 'left' },
        { head: 'u', unit: 'mK', align: 'decimal' },
        { head: 'ν', align: 'right' },
        { head: 'Part of u²', unit: '%', align: 'decimal' },
      ],
      rows,
      note:
        'ν: degrees of freedom (of the sum by Welch and Satterthwaite). Sources and sizes of the components: budget template ' +
        `"${result.template.title}".`,
    },
    {
      kind: 'figure',
      caption: 'What dominates the budget.',
      plot: {
        type: 'budget',
        title: `Budget of ${result.record.thermometer.name}`,
        lines: curve.lines.filter((l) => l.u > 0).map((l) => ({ name: l.name, uMk: l.u, kind: l.kind })),
      },
    },
  ]
}

function monteCarloTable(result: ThermometerResult, book: NumberBook): Block[] {
  const { monteCarlo } = result
  if (!monteCarlo) return []
  const id = result.record.channel.id
  const rows = monteCarlo.rows
    .filter((row) => row.what === 'curve')
    .map((row): Cell[] => {
      const key = `${id}.jcgm101.${row.point}`
      const end = (which: 'low' | 'high') =>
        book.add(`${key}.${which}`, {
          name: `JCGM 101, ${which} end of the interval`,
          value: row[which],
          unit: 'mK',
          roundLike: row.expanded,
        })
      return [
        row.celsius.toFixed(2),
        book.size(`${key}.u100`, 'JCGM 100: standard uncertainty', row.u, 'mK'),
        book.size(`${key}.expanded100`, 'JCGM 100: expanded uncertainty', row.expanded, 'mK'),
        book.size(`${key}.u101`, 'JCGM 101: standard deviation', row.uMonteCarlo, 'mK'),
        end('low'),
        end('high'),
        row.agrees ? 'yes' : 'no',
      ]
    })
  return [
    {
      kind: 'table',
      caption: 'The two methods compared',
      columns: [
        { head: 't90', unit: '°C', align: 'decimal' },
        { head: 'u, JCGM 100', unit: 'mK', align: 'decimal' },
        { head: 'U, JCGM 100', unit: 'mK', align: 'decimal' },
        { head: 'u, JCGM 101', unit: 'mK', align: 'decimal' },
        { head: 'Low end', unit: 'mK', align: 'decimal' },
        { head: 'High end', unit: 'mK', align: 'decimal' },
        { head: 'Agree', align: 'left' },
      ],
      rows,
      note:
        `${monteCarlo.trials} trials, seed ${monteCarlo.seed}. The methods agree where both ends of the interval lie within half a unit of ` +
        `the last of ${monteCarlo.digits === 1 ? 'one significant digit' : `${monteCarlo.digits} significant digits`} of u (JCGM 101:2008, 8.1).` +
        (monteCarlo.settled
          ? ''
          : ' The cap on trials was reached before the ends had settled to a fifth of that.'),
    },
  ]
}

function conformityBlocks(result: ThermometerResult, book: NumberBook): Block[] {
  const { conformity, record } = result
  if (!conformity) return []
  const id = record.channel.id
  const nominal = record.thermometer.nominalOhm ?? 100
  const rows = conformity.points.map((p): Cell[] => {
    const key = `${id}.conformity.${p.point}`
    return [
      p.point,
      p.celsius.toFixed(2),
      book.add(`${key}.standard`, {
        name: 'Resistance by IEC 60751',
        value: standardOhm(nominal, p.celsius),
        unit: 'Ω',
        roundLike: 1e-3,
      }),
      book.add(`${key}.deviation`, {
        name: `${record.thermometer.name}, point ${p.point}: deviation from IEC 60751`,
        value: p.deviationMk,
        unit: 'mK',
        roundLike: p.expandedMk,
      }),
      book.size(`${key}.expanded`, 'Expanded uncertainty', p.expandedMk, 'mK'),
      book.add(`${key}.tolerance`, {
        name: `Tolerance of class ${conformity.class}`,
        value: p.toleranceMk,
        unit: 'mK',
        roundLike: 10,
      }),
      VERDICT_WORDS[p.verdict],
    ]
  })
  return [
    {
      kind: 'table',
      caption: `Conformity with class ${conformity.class} of ${conformity.source}: ${VERDICT_WORDS[conformity.verdict]}`,
      columns: [
        { head: 'Point', align: 'left' },
        { head: 't90', unit: '°C', align: 'decimal' },
        { head: 'R by standard', unit: 'Ω', align: 'decimal' },
        { head: 'Deviation', unit: 'mK', align: 'decimal' },
        { head: 'U', unit: 'mK', align: 'decimal' },
        { head: 'Tolerance', unit: 'mK', align: 'decimal' },
        { head: 'Statement', align: 'left' },
      ],
      rows,
      note: 'The statement holds for the measuring current and for the points above; the decision rule stands under Uncertainty and decision rule.',
    },
  ]
}

function revisitBlocks(result: ThermometerResult, book: NumberBook): Block[] {
  if (result.revisits.length === 0) return []
  const id = result.record.channel.id
  return [
    {
      kind: 'table',
      caption: 'Temperatures visited more than once (hysteresis and repeatability)',
      columns: [
        { head: 'Setpoint', unit: '°C', align: 'decimal' },
        { head: 'Visits', align: 'left' },
        { head: 'Largest difference', unit: 'mK', align: 'decimal' },
        { head: 'Its repeatability, k = 2', unit: 'mK', align: 'decimal' },
      ],
      rows: result.revisits.map((r): Cell[] => [
        String(r.setpointC),
        r.visits.map((v) => (v.label ? `${v.point} (${v.label})` : v.point)).join(', '),
        book.add(`${id}.revisit.${r.setpointC}.span`, {
          name: `Difference of visits at ${r.setpointC} °C`,
          value: r.spanMk,
          unit: 'mK',
          roundLike: RESIDUAL_LIKE_MK,
        }),
        book.size(
          `${id}.revisit.${r.setpointC}.u`,
          'Repeatability of the difference, k = 2',
          2 * r.uSpanMk,
          'mK',
        ),
      ]),
      note: 'Half the largest difference is the half-width of the hysteresis component in the budget.',
    },
  ]
}

function wtpBlocks(result: ThermometerResult, book: NumberBook): Block[] {
  const { wtp, record } = result
  if (!wtp) return []
  const id = record.channel.id
  const rows = wtp.measurements.map((m): Cell[] => [
    m.when,
    book.add(`${id}.wtp.${m.point}`, {
      name: `R(0.01 °C) ${m.when}`,
      value: m.ohm,
      unit: 'Ω',
      expanded: 2 * m.uOhm,
      k: 2,
    }),
    uncertaintyOf(`${id}.wtp.${m.point}`),
  ])
  const change =
    wtp.changeMk === null
      ? []
      : [
          [
            'after less before',
            book.add(`${id}.wtp.change`, {
              name: 'Change of R(0.01 °C), as a temperature',
              value: wtp.changeMk,
              unit: 'mK',
              expanded: wtp.expandedChangeMk!,
              k: 2,
            }),
            uncertaintyOf(`${id}.wtp.change`),
          ] as Cell[],
        ]
  return [
    {
      kind: 'table',
      caption: 'Resistance at the water triple point, zero current',
      columns: [
        { head: 'When', align: 'left' },
        { head: 'R(0.01 °C), Ω; change, mK', align: 'decimal' },
        { head: 'U, k = 2 (repeatability and cell)', align: 'decimal' },
      ],
      rows: [...rows, ...change],
    },
  ]
}

/** A component's name in the room a legend has. */
function shortName(name: string): string {
  const short = name.replace('Thermometer under test, ', '').replace('Reference thermometer, ', 'reference, ')
  return short.charAt(0).toUpperCase() + short.slice(1)
}

/** Most temperatures that a table of budgets holds side by side on paper. */
const MOST_SIDE_BY_SIDE = 7
/** A component below this part of u squared at every point is left to the full budget. */
const SHOWN_PART = 0.01

/** The budgets of the points beside one another: what the reference and the signal bring at each. */
function pointBudgets(result: ThermometerResult, book: NumberBook): Block[] {
  const points = result.points.filter((p) => p.included && !p.pair.cell)
  const every = Math.ceil(points.length / MOST_SIDE_BY_SIDE)
  const shown = points.filter((_, i) => i % every === 0)
  if (shown.length === 0) return []
  const id = result.record.channel.id
  const components = shown[0]!.budget.lines.map((l) => ({ id: l.component, name: l.name }))
  const lineOf = (p: PointResult, component: string) =>
    p.budget.lines.find((l) => l.component === component)?.u ?? 0
  const rows = components
    .filter((c) => shown.some((p) => lineOf(p, c.id) ** 2 > SHOWN_PART * p.budget.u ** 2))
    .map((c): Cell[] => [
      c.name,
      ...shown.map((p) =>
        book.size(
          `${id}.point.${p.pair.point}.budget.${c.id}`,
          `${c.name}, point ${p.pair.point}`,
          lineOf(p, c.id),
          'mK',
        ),
      ),
    ])
  const last = (words: string, what: string, of: (p: PointResult) => number): Cell[] => [
    words,
    ...shown.map((p) =>
      book.size(`${id}.point.${p.pair.point}.budget.${what}`, `${words}, point ${p.pair.point}`, of(p), 'mK'),
    ),
  ]
  return [
    {
      kind: 'table',
      caption: 'Uncertainty budgets of the points, standard uncertainties in mK',
      columns: [
        { head: 'Component', align: 'left' },
        ...shown.map((p) => ({
          head: p.pair.point,
          unit: `${p.pair.referenceC.toFixed(1)} °C`,
          align: 'decimal' as const,
        })),
      ],
      rows: [
        ...rows,
        last('Combined standard uncertainty', 'combined', (p) => p.budget.u),
        last('Expanded uncertainty U', 'expanded', (p) => p.budget.expanded),
      ],
      note: 'Components below one hundredth of u² at every point are in the sums and not shown.',
    },
  ]
}

/** The components that make most of the curve's uncertainty anywhere on the range. */
function uncertaintyFigure(result: ThermometerResult): Block {
  const names = new Map<string, number>()
  for (const at of result.band) {
    for (const line of at.budget.lines) names.set(line.name, Math.max(names.get(line.name) ?? 0, line.u))
  }
  const leading = [...names].toSorted((a, b) => b[1] - a[1]).slice(0, 5)
  return {
    kind: 'figure',
    caption:
      'Uncertainty of a temperature found with the coefficients: expanded (bold) and its five largest components (standard).',
    plot: {
      type: 'uncertainty',
      title: `Uncertainty over the range, ${result.record.thermometer.name}`,
      celsius: result.band.map((b) => b.celsius),
      expandedMk: result.band.map((b) => b.budget.expanded),
      parts: leading.map(([name]) => ({
        name: shortName(name),
        uMk: result.band.map((b) => b.budget.lines.find((l) => l.name === name)?.u ?? 0),
      })),
    },
  }
}

const inRange = (points: readonly PointResult[]) => points.filter((p) => !p.pair.cell)

/** Results of one thermometer under test, from its points to its remarks. */
export function thermometerSection(result: ThermometerResult, analysis: Analysis, book: NumberBook): Block[] {
  const { thermometer, channel } = result.record
  const blocks: Block[] = [
    {
      kind: 'heading',
      level: 2,
      text: `Results: ${thermometer.name}, serial number ${thermometer.serial || 'none'} (channel ${channel.id.toUpperCase()})`,
      breakBefore: true,
    },
    {
      kind: 'text',
      text: `${KIND_WORDS[thermometer.kind]}, measured at ${channel.currentMa} mA in session ${analysis.input.info.id}.`,
    },
  ]
  if (result.refusal !== null || !result.fit) {
    blocks.push({
      kind: 'text',
      style: 'statement',
      text: `No coefficients are stated for this thermometer. ${result.refusal ?? ''}`,
    })
    return [...blocks, ...wtpBlocks(result, book)]
  }
  blocks.push(
    coefficientsTable(result, book),
    pointsTable(result, book),
    {
      kind: 'figure',
      caption:
        'Residuals: what the thermometer shows with the coefficients less the reference, with each point’s U; the band is U of the curve.' +
        (result.points.some((p) => !p.included) ? ' Open circles: left out.' : ''),
      plot: {
        type: 'residuals',
        title: `Residuals, ${thermometer.name}`,
        points: inRange(result.points).map((p) => ({
          celsius: p.pair.referenceC,
          residualMk: p.residualMk,
          expandedMk: p.budget.expanded,
          included: p.included,
        })),
        band: result.band.map((b) => ({ celsius: b.celsius, expandedMk: b.budget.expanded })),
      },
    },
    ...pointBudgets(result, book),
    interpolationTable(result, book),
    uncertaintyFigure(result),
    ...budgetBlocks(result, book),
    ...monteCarloTable(result, book),
    ...conformityBlocks(result, book),
    ...revisitBlocks(result, book),
    ...wtpBlocks(result, book),
  )
  if (result.remarks.length > 0) {
    blocks.push(
      { kind: 'text', text: 'Remarks on this thermometer:' },
      { kind: 'list', items: result.remarks },
    )
  }
  return blocks
}
