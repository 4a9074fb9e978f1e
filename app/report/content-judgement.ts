import { needed } from '../base/lists.ts'
import type { ThermometerResult } from '../results/analysis.ts'
import { standardOhm, VERDICT_WORDS } from '../results/conformity.ts'
import { hysteresisOf } from '../results/hysteresis.ts'
import type { Block, Cell } from './blocks.ts'
import { type NumberBook, RESIDUAL_LIKE_MK, uncertaintyOf } from './numbers.ts'
import { pointAndLabel, pointLabel } from './words.ts'

export function conformityBlocks(result: ThermometerResult, book: NumberBook): Block[] {
  const { conformity, record } = result
  if (!conformity) return []
  const id = record.channel.id
  const nominal = record.thermometer.nominalOhm ?? 100
  const rows = conformity.points.map((p): Cell[] => {
    const key = `${id}.conformity.${p.point}`
    return [
      pointLabel(p.point),
      { key: `${id}.point.${p.point}.t90`, show: 'value' },
      book.add(`${key}.standard`, {
        name: 'Resistance by IEC 60751',
        value: standardOhm(nominal, p.celsius),
        unit: 'Ω',
        roundLike:
          p.expandedMk *
          1e-3 *
          (standardOhm(nominal, p.celsius + 0.5) - standardOhm(nominal, p.celsius - 0.5)),
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

/** What the visits say of hysteresis, as the budget takes it. */
function hysteresisWords({ revisits }: ThermometerResult): string {
  const seen = hysteresisOf(revisits)
  if (!seen)
    return 'No temperature was visited on the way down: the visits tell repeatability, not hysteresis.'
  const half = `${seen.halfMk.toPrecision(2)} mK`
  return seen.found
    ? `Hysteresis: the mean of the visits on the way down differs from that of the visits on the way up by more than repeatability explains (99 %); half of the difference, ${half}, is the half-width in the budget.`
    : `Hysteresis: the mean of the visits on the way down does not differ from that of the visits on the way up by more than repeatability explains (99 %); what could have hidden there is ${half} as half-width, in the budget unless less is usual.`
}

export function revisitBlocks(result: ThermometerResult, book: NumberBook): Block[] {
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
        r.visits.map(pointAndLabel).join(', '),
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
      note: hysteresisWords(result),
    },
  ]
}

export function wtpBlocks(result: ThermometerResult, book: NumberBook): Block[] {
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
              expanded: needed(wtp.expandedChangeMk, 'uncertainty of the change'),
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
