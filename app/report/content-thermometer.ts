import { at, needed } from '../base/lists.ts'
import { toPlace } from '../base/rounding.ts'
import { kindOf } from '../kinds/table.ts'
import { type ChannelUnit, celsiusAs, perKelvin } from '../live/channel-unit.ts'
import type { Analysis, PointResult, ThermometerResult } from '../results/analysis.ts'
import type { Block, Cell } from './blocks.ts'
import { budgetBlocks, pointBudgets, uncertaintyFigure } from './content-budget.ts'
import { conformityBlocks, revisitBlocks, wtpBlocks } from './content-judgement.ts'
import { methodBlocks } from './content-methods.ts'
import { coverageOf, type NumberBook, uncertaintyOf } from './numbers.ts'
import { selfHeatingWords } from './provenance-parts.ts'
import { coefficientName, deviationEquation, pointAndLabel, wordsOfModel } from './words.ts'

/** What was taken off for the measuring current, and where the figure came from. */
function selfHeatingNote({ record, selfHeating, signalUnit, points }: ThermometerResult): string {
  if (signalUnit === 'mV') return 'Thermal voltages are as measured, brought to the reference junction.'
  const { currentMa } = record.channel
  if (selfHeating !== 'zero-current') {
    return `Resistances hold for the measuring current of ${currentMa} mA; the self-heating is not known.`
  }
  const taken = points.filter((p) => !p.pair.cell).map((p) => p.pair.underTest)
  const sizes = taken.map((t) => t.selfHeatingMk.toPrecision(2))
  const [low, high] = [Math.min(...sizes.map(Number)), Math.max(...sizes.map(Number))]
  const size = low === high ? `${sizes[0]} mK` : `${low} mK to ${high} mK`
  const from = [...new Set(taken.map((t) => selfHeatingWords(t.from)))].join('; ')
  return `Resistances are corrected from ${currentMa} mA to zero current: self-heating of ${size} taken off (${from}).`
}

/** Where R0 or R(0.01 °C) is a parameter found from points elsewhere. */
function outsideNote({ model, points }: ThermometerResult, low: number, high: number): string {
  const [name, at] = model === 'its90' ? ['R(0.01 °C)', 0.01] : ['R0', 0]
  if (model !== 'its90' && model !== 'callendar-van-dusen') return ''
  if (points.some((p) => p.included && p.pair.cell) || (at >= low - 0.1 && at <= high + 0.1)) return ''
  return ` ${name} is a parameter of the relation, found from these points; its temperature lies outside them and was not measured.`
}

/** How the coefficients hang together: with the uncertainties it gives u of any temperature within the range. */
function correlationTable(result: ThermometerResult, book: NumberBook): Block[] {
  const id = result.record.channel.id
  const names = result.coefficients.map((c) => c.name)
  if (names.length < 2) return []
  const matrix = needed(result.fit, 'fit').covariance(names)
  const covariance = (i: number, j: number) => at(at(matrix, i), j)
  const u = (i: number) => Math.sqrt(covariance(i, i))
  const label = (name: string) => coefficientName(result.model, name)
  const rows = result.coefficients.map(({ name, unit }, i): Cell[] => [
    label(name),
    book.add(`${id}.correlation.${name}:u`, {
      name: `${label(name)}: standard uncertainty`,
      value: u(i),
      unit,
      roundLike: u(i) * 1e-3,
    }),
    ...names.map((other, j): Cell => {
      if (j > i) return ''
      if (j === i) return '1'
      return book.add(`${id}.correlation.${name}:${other}`, {
        name: `Correlation of ${label(name)} and ${label(other)}`,
        value: covariance(i, j) / (u(i) * u(j)),
        unit: '1',
        roundLike: 1e-4,
      })
    }),
  ])
  return [
    {
      kind: 'table',
      caption: 'Correlation of the coefficients',
      columns: [
        { head: 'Coefficient', align: 'left' },
        { head: 'u', align: 'decimal' },
        ...names.map((name) => ({ head: label(name), align: 'decimal' as const })),
      ],
      rows,
      note:
        'u²(t) = Σ (∂t/∂x)(∂t/∂y) r(x, y) u(x) u(y) over all pairs of coefficients (JCGM 100:2008, equation 13) is what the coefficients bring ' +
        'to u of a temperature t. What the interpolation equation itself brings stands in the budget and comes on top.',
    },
  ]
}

/** The kelvin or the degree Fahrenheit, where the bench shows the channel in it: it stands beside the degree Celsius. */
const otherUnit = (unit: ChannelUnit | undefined): { unit: ChannelUnit; sign: string } | undefined =>
  unit === 'K' || unit === 'degF' ? { unit, sign: unit === 'K' ? 'K' : '°F' } : undefined

function pointsTable(result: ThermometerResult, book: NumberBook): Block {
  const { record, signalUnit } = result
  const id = record.channel.id
  const unit = signalUnit === 'ohm' ? 'Ω' : 'mV'
  const ownUnit = otherUnit(record.channel.unit)
  const rows = result.points.map((point): Cell[] => {
    const { pair, budget } = point
    const key = `${id}.point.${pair.point}`
    const name = `${record.thermometer.name}, point ${pair.point}`
    const perK = Math.abs((pair.underTest.signal / pair.underTestMkPerRelative) * 1e3)
    const label = pointAndLabel(pair.cell ? { point: pair.point, label: 'cell' } : pair)
    const measured = book.add(`${key}.signal`, {
      name: `${name}: signal${result.selfHeating === 'zero-current' ? ' at zero current' : ''}`,
      value: pair.underTest.signal,
      unit,
      roundLike: budget.expanded * 1e-3 * perK,
    })
    const celsius = book.add(`${key}.t90`, {
      name: `${name}: reference temperature`,
      value: pair.referenceC,
      unit: '°C',
      roundLike: budget.expanded * 1e-3,
    })
    const own = ownUnit && [
      book.add(`${key}.own`, {
        name: `${name}: reference temperature in ${ownUnit.sign}`,
        value: celsiusAs(pair.referenceC, ownUnit.unit),
        unit: ownUnit.sign,
        roundLike: budget.expanded * 1e-3 * perKelvin(ownUnit.unit),
      }),
    ]
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
      roundLike: budget.expanded,
    })
    const leaveOneOut: Cell =
      point.leaveOneOutMk === null || pair.cell
        ? 'none'
        : book.add(`${key}.leave-one-out`, {
            name: `${name}: fit without this point less reference`,
            value: point.leaveOneOutMk,
            unit: 'mK',
            roundLike: budget.expanded,
          })
    return [
      point.included ? label : `${label}, left out`,
      celsius,
      ...(own ?? []),
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
      ...(ownUnit ? [{ head: 't90, reference', unit: ownUnit.sign, align: 'decimal' as const }] : []),
      { head: signalUnit === 'ohm' ? 'R' : 'E', unit, align: 'decimal' },
      { head: 'Fit − reference', unit: 'mK', align: 'decimal' },
      { head: 'Without the point', unit: 'mK', align: 'decimal' },
      { head: 'U', unit: 'mK', align: 'decimal' },
      { head: 'k', align: 'decimal' },
    ],
    rows,
    note:
      `${selfHeatingNote(result)} Reference temperature, signal and residual are given to the last digit of their U. ` +
      'U is the expanded uncertainty of the reference temperature together with the signal, as a temperature.',
  }
}

function coefficientsTable(result: ThermometerResult, book: NumberBook): Block {
  const { record, fit } = result
  const id = record.channel.id
  const { conversion } = needed(fit, 'fit').fit
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
  const { equation, name, source } = wordsOfModel(result.model)
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
      `${written} (${source}). Valid from ${toPlace(low, -2)} °C to ${toPlace(high, -2)} °C.${outsideNote(result, low, high)} The coefficients are correlated and belong together; they carry three places more ` +
      'than their uncertainties so that rounding does not move a temperature.',
  }
}

function interpolationTable(result: ThermometerResult, book: NumberBook): Block {
  const id = result.record.channel.id
  const unit = result.signalUnit === 'ohm' ? 'Ω' : 'mV'
  const flattest = Math.min(...result.table.map((at) => Math.abs(at.signalPerK)))
  const rows = result.table.map((at): Cell[] => {
    const key = `${id}.table.${at.celsius}`
    const name = `${result.record.thermometer.name} at ${at.celsius} °C`
    const signal = book.add(`${key}.signal`, {
      name,
      value: at.signal,
      unit,
      roundLike: Math.abs(at.budget.expanded * 1e-3 * at.signalPerK),
    })
    const slope = book.add(`${key}.slope`, {
      name: `${name}: slope`,
      value: at.signalPerK,
      unit: `${unit}/K`,
      roundLike: flattest * 1e-2,
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
      text: `${kindOf(thermometer).words}, measured ${kindOf(thermometer).signal === 'resistance' ? `at ${channel.currentMa} mA ` : ''}in session ${analysis.input.info.id}.`,
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
    ...correlationTable(result, book),
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
    ...methodBlocks(result, book),
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
