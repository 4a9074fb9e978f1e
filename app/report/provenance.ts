import { needed } from '../base/lists.ts'
import type { Thread } from '../contract/studies.ts'
import { said } from '../messages/said.ts'
import type { Analysis, PointResult, ThermometerResult } from '../results/analysis.ts'
import { ComparisonError } from '../results/uncertainty-error.ts'
import { environmentNumber } from './content-admin.ts'
import type { ReportContent } from './content-types.ts'
import {
  coefficientInputs,
  expanded,
  type Input,
  type Loom,
  lineInput,
  meanInput,
  plain,
  readingsOf,
  resistorInput,
  selfHeatingWords,
  type Unfolded,
} from './provenance-parts.ts'
import { ofReference, ofResistor, wtpThread } from './provenance-records.ts'
import { coefficientName, deviationEquation, MODEL_WORDS, wordsOfModel } from './words.ts'

/** What the reference said at a point: its readings through the records in force. */
function referenceTemperature(point: PointResult, loom: Loom): Unfolded {
  const { pair } = point
  const { record } = loom.analysis.reference
  if (pair.cell || !pair.referenceAt) {
    return {
      formula: 't90 = 0.01 °C',
      source: 'ITS-90: temperature of the triple point of water, realised by a cell',
      inputs: [plain('Cell', '0.01', '°C', `point ${pair.point}`)],
    }
  }
  const calibration = needed(record.calibration, 'calibration')
  const words = `certificate ${calibration.certificate} of ${calibration.laboratory}, ${calibration.date}`
  const wtp = loom.report.numbers['reference.rWtp']
  const { conversion } = calibration
  return {
    formula:
      conversion.kind === 'its90'
        ? `W = n Rs / R(0.01 °C); ${deviationEquation(conversion.subrange ?? '')}; t90 from Wr; brought to the time of the thermometer under test`
        : 't90 by the calibration from R = n Rs; brought to the time of the thermometer under test',
    source:
      conversion.kind === 'its90'
        ? 'ITS-90, section 3.3'
        : (MODEL_WORDS[conversion.kind]?.source ?? 'certificate'),
    inputs: [
      meanInput(pair.referenceAt),
      ...resistorInput(record, loom),
      ...(wtp ? [loom.pull('reference.rWtp', 'in force on the day')] : []),
      ...(pair.reference && pair.reference.selfHeatingMk > 0
        ? [
            plain(
              'Self-heating taken off',
              pair.reference.selfHeatingMk.toPrecision(3),
              'mK',
              selfHeatingWords(pair.reference.from),
            ),
          ]
        : []),
      ...coefficientInputs(conversion, words),
    ],
    readings: readingsOf(pair.referenceAt),
  }
}

function signal(result: ThermometerResult, point: PointResult, loom: Loom): Unfolded {
  const { underTest, underTestAt } = point.pair
  return {
    formula: 'R(0 mA) = n Rs − (dR/dt) Δt, Δt the self-heating',
    source: 'definition of the ratio; common practice for the self-heating',
    inputs: [
      meanInput(underTestAt),
      ...resistorInput(result.record, loom),
      plain(
        'Self-heating taken off',
        underTest.selfHeatingMk.toPrecision(3),
        'mK',
        selfHeatingWords(underTest.from),
      ),
    ],
    readings: readingsOf(underTestAt),
  }
}

const usedPoints = (result: ThermometerResult) => result.points.filter((p) => p.included)

function coefficient(result: ThermometerResult, coefficientId: string, loom: Loom): Unfolded {
  const id = result.record.channel.id
  const model = wordsOfModel(result.model)
  const { conversion } = needed(result.fit, 'fit').fit
  const equation = conversion.kind === 'its90' ? deviationEquation(conversion.subrange ?? '') : model.equation
  return {
    formula: `${coefficientName(result.model, coefficientId)} by weighted least squares (QR) of ${equation}`,
    source: `${model.source}; uncertainty by JCGM 100:2008, equation (13), each source of error through all points at once`,
    inputs: usedPoints(result).flatMap((p) => [
      loom.pull(`${id}.point.${p.pair.point}.t90`, `point ${p.pair.point}`),
      loom.pull(`${id}.point.${p.pair.point}.signal`, `point ${p.pair.point}`),
    ]),
  }
}

/** Keys of the coefficients in a report, by channel: looked for once, not for every one of its numbers. */
const coefficientKeys = new WeakMap<ReportContent, Map<string, string[]>>()

function coefficientKeysOf(report: ReportContent): Map<string, string[]> {
  const known = coefficientKeys.get(report)
  if (known) return known
  const found = new Map<string, string[]>()
  for (const key of Object.keys(report.numbers)) {
    const channel = /^([^.]+)\.coefficient\./.exec(key)?.[1]
    if (channel !== undefined) found.set(channel, [...(found.get(channel) ?? []), key])
  }
  coefficientKeys.set(report, found)
  return found
}

const ownCoefficients = (result: ThermometerResult, loom: Loom): Input[] =>
  (coefficientKeysOf(loom.report).get(result.record.channel.id) ?? []).map((key) => loom.pull(key, 'fitted'))

function ofPoint(result: ThermometerResult, point: PointResult, what: string, loom: Loom): Unfolded | null {
  const id = result.record.channel.id
  const key = `${id}.point.${point.pair.point}`
  switch (what) {
    case 't90':
      return referenceTemperature(point, loom)
    case 'own': {
      const kelvin = result.record.channel.unit === 'K'
      return {
        formula: kelvin ? 'T90/K = t90/°C + 273.15' : 't/°F = 1.8 t90/°C + 32',
        source: kelvin ? 'ITS-90, section 1' : 'definition of the degree Fahrenheit',
        inputs: [loom.pull(`${key}.t90`, 'reference')],
      }
    }
    case 'signal':
      return signal(result, point, loom)
    case 'expanded':
      return expanded(point.budget, lineInput)
    case 'residual':
      return {
        formula: 'residual = t90 by the coefficients from the signal − reference temperature',
        source: 'definition',
        inputs: [
          loom.pull(`${key}.signal`, 'measured'),
          loom.pull(`${key}.t90`, 'reference'),
          ...ownCoefficients(result, loom),
        ],
      }
    case 'leave-one-out':
      return {
        formula: 'r(i) = r / (1 − h), h the leverage of the point',
        source: 'D. M. Allen, Technometrics 16 (1974) 125 (from memory)',
        inputs: [loom.pull(`${key}.residual`, 'with the point')],
      }
    default:
      return null
  }
}

function ofPointBudget(point: PointResult, component: string): Unfolded {
  const line = point.budget.lines.find((l) => l.component === component)
  if (!line) return expanded(point.budget, lineInput)
  const { pair } = point
  return {
    formula: 'u = |r_S R_S/(dR_S/dt) + δt − r_X R_X/(dR_X/dt)| for one standard uncertainty of the source',
    source: line.source,
    inputs: [
      lineInput(line),
      plain(
        'R/(dR/dt) of the reference',
        (pair.references[0]?.mkPerRelative ?? 0).toPrecision(6),
        'mK',
        'for a relative change of one',
      ),
      plain(
        'R/(dR/dt) of the thermometer under test',
        pair.underTestMkPerRelative.toPrecision(6),
        'mK',
        'for a relative change of one',
      ),
    ],
  }
}

/** Splits `x1.point.p2.signal` at its dots; ids may not hold dots, temperatures of the table may. */
function ofThermometer(result: ThermometerResult, rest: string, loom: Loom): Unfolded | null {
  const id = result.record.channel.id
  const [area = '', ...tail] = rest.split('.')
  const last = tail.at(-1) ?? ''
  const middle = tail.slice(0, -1).join('.')
  const point = result.points.find((p) => p.pair.point === middle)
  switch (area) {
    case 'point': {
      const budgeted = result.points.find((p) => middle === `${p.pair.point}.budget`)
      if (budgeted) return ofPointBudget(budgeted, last)
      return point ? ofPoint(result, point, last, loom) : null
    }
    case 'coefficient':
      return coefficient(result, tail.join('.'), loom)
    case 'table': {
      const at = result.table.find((t) => String(t.celsius) === middle)
      if (!at) return null
      if (last === 'expanded') return expanded(at.budget, lineInput)
      return {
        formula: last === 'slope' ? 'dR/dt of the fitted relation' : 'R of the fitted relation',
        source: wordsOfModel(result.model).source,
        inputs: [plain('t90', middle, '°C', 'chosen step of the table'), ...ownCoefficients(result, loom)],
      }
    }
    case 'correlation': {
      const [name = '', other = ''] = tail.join('.').split(':')
      return {
        formula:
          other === 'u'
            ? 'u²(x) = Σ over sources Σᵢⱼ (∂x/∂eᵢ) cᵢ r(i, j) cⱼ (∂x/∂eⱼ)'
            : 'r(x, y) = u(x, y)/(u(x) u(y)), u(x, y) = Σ over sources Σᵢⱼ (∂x/∂eᵢ) cᵢ r(i, j) cⱼ (∂y/∂eⱼ)',
        source: 'JCGM 100:2008, 5.2.2 and F.1.2.3',
        inputs: (other === 'u' ? [name] : [name, other]).map((x) =>
          loom.pull(`${id}.coefficient.${x}`, 'fitted'),
        ),
      }
    }
    case 'budget': {
      if (!point) return null
      const line = point.curve.lines.find((l) => l.component === last)
      if (!line) return expanded(point.curve, lineInput)
      return {
        formula: 'u² = Σᵢⱼ (dy/deᵢ) cᵢ r(i, j) cⱼ (dy/deⱼ), y the temperature, e the errors of the points',
        source: `${line.source}; JCGM 100:2008, equation (13)`,
        inputs: [
          plain(line.name, line.u.toPrecision(3), 'mK', line.explain),
          ...usedPoints(result).map((p) =>
            plain(
              `at point ${p.pair.point}`,
              (p.budget.lines.find((l) => l.component === last)?.u ?? 0).toPrecision(3),
              'mK',
              `the component at the point itself, ${line.correlation} between points`,
            ),
          ),
        ],
      }
    }
    case 'jcgm101':
      return {
        formula: 'quantiles and standard deviation of the drawn errors through both conversions and the fit',
        source: 'JCGM 101:2008, 7.9 and 8.1',
        inputs: [
          plain('Trials', result.monteCarlo?.trials ?? 0, '1', `seed ${result.monteCarlo?.seed ?? 0}`),
          ...(point ? point.curve.lines.filter((l) => l.u > 0).map(lineInput) : []),
        ],
      }
    case 'conformity':
      return {
        formula:
          last === 'tolerance'
            ? 'tolerance = a + b |t|'
            : last === 'standard'
              ? 'R(t) of IEC 60751'
              : 't(R) by IEC 60751 − t90',
        source: result.conformity?.source ?? 'IEC 60751',
        inputs: [
          loom.pull(`${id}.point.${middle}.t90`, 'reference'),
          loom.pull(
            `${id}.point.${middle}.signal`,
            'at zero current; the statement uses the signal at the measuring current',
          ),
          loom.pull(`${id}.point.${middle}.expanded`, 'uncertainty'),
        ],
      }
    case 'revisit': {
      const visited = result.revisits.find((r) => String(r.setpointC) === middle)
      return {
        formula: 'largest − smallest difference of thermometer under test and reference',
        source: 'definition',
        inputs: (visited?.visits ?? []).map((v) =>
          plain(`point ${v.point}`, v.differenceMk.toFixed(3), 'mK', v.label ?? 'visit'),
        ),
      }
    }
    case 'wtp':
      return wtpThread(result.record, tail.join('.'), loom)
    case 'check':
      return null
    default:
      return null
  }
}

function unfold(key: string, loom: Loom): Unfolded | null {
  const { analysis } = loom
  if (key === 'coverage-probability') {
    return { formula: 'chosen by the laboratory', source: 'settings', inputs: [] }
  }
  const dot = key.indexOf('.')
  const [head, rest] = [key.slice(0, dot), key.slice(dot + 1)]
  const result = analysis.thermometers.find((t) => t.record.channel.id === head)
  if (result) return ofThermometer(result, rest, loom)
  if (head === 'resistor') return ofResistor(rest.replace(/\.ohm$/, ''), loom)
  if (head === 'reference') return ofReference(rest, loom)
  if (head === 'conditions') {
    const [quantity = ''] = rest.split('.')
    const seen = analysis.input.events.filter(
      (e) => e.kind === 'environment' && environmentNumber(e.data[quantity]) !== null,
    )
    return {
      formula: 'lowest and highest of what the environment sensor said in the session',
      source: 'events of the session',
      inputs: seen.map((e) =>
        plain(`event ${e.n}`, Number(e.data[quantity]), loom.report.numbers[key]?.unit ?? '', e.words),
      ),
    }
  }
  const check = analysis.checks.find((c) => c.record.channel.id === head)
  if (check) {
    const point = rest.replace(/^check\./, '')
    const at = analysis.input.points.find((p) => p.id === point)?.channels.find((c) => c.channel === head)
    const calibration = needed(check.record.calibration, 'calibration')
    return {
      formula: 't90 by the check thermometer − t90 by the reference',
      source: `certificate ${calibration.certificate} of ${calibration.laboratory}, ${calibration.date}`,
      inputs: at ? [meanInput(at), ...resistorInput(check.record, loom)] : [],
      readings: at ? readingsOf(at) : null,
    }
  }
  return null
}

/**
 * A number of the report unfolded one step: its formula, what went into it, the readings it rests on. Inputs with a
 * key are numbers of the report and can be unfolded in turn.
 *
 * Throws ComparisonError 'unknown-key'.
 */
export function threadOf(analysis: Analysis, report: ReportContent, key: string): Thread {
  const entry = report.numbers[key]
  const loom: Loom = {
    analysis,
    report,
    pull(wanted, words) {
      const found = report.numbers[wanted]
      return {
        key: found ? wanted : null,
        name: found?.name ?? wanted,
        value: found?.value ?? '',
        unit: found?.unit ?? '',
        words,
      }
    },
  }
  const found = entry && unfold(key, loom)
  if (!entry || !found) {
    throw new ComparisonError('unknown-key', said('no-such-key', { key }), { key })
  }
  return {
    key,
    name: entry.name,
    value:
      entry.uncertainty === null ? entry.value : `${entry.value} ± ${entry.uncertainty} (k = ${entry.k})`,
    unit: entry.unit,
    formula: found.formula,
    source: found.source,
    inputs: [...found.inputs],
    readings: found.readings ?? null,
  }
}

/** Every number of the report with its thread. */
export function threadsOf(analysis: Analysis, report: ReportContent): Record<string, Thread> {
  return Object.fromEntries(Object.keys(report.numbers).map((key) => [key, threadOf(analysis, report, key)]))
}
