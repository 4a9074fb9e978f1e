import type { Analysis, PointResult, ThermometerResult } from '../comparison/analysis.ts'
import type { ChannelRecord } from '../comparison/analysis-channel.ts'
import type { BudgetLine, Combined } from '../comparison/analysis-fit.ts'
import { ComparisonError } from '../comparison/uncertainty-error.ts'
import type { Thread } from '../contract/studies.ts'
import type { Conversion } from '../records/conversion.ts'
import type { PointChannel } from '../records/point.ts'
import type { ReportContent } from './content.ts'
import { environmentNumber } from './content-admin.ts'
import { coefficientName, deviationEquation, MODEL_WORDS } from './words.ts'

type Input = Thread['inputs'][number]
type Unfolded = Pick<Thread, 'formula' | 'source' | 'inputs'> & { readonly readings?: Thread['readings'] }

/** A number of the report taken apart one step. */
interface Loom {
  readonly analysis: Analysis
  readonly report: ReportContent
  /** An input that is itself a number of the report, to be pulled further. */
  pull(key: string, words: string): Input
}

const plain = (name: string, value: string | number, unit: string, words: string): Input => ({
  key: null,
  name,
  value: String(value),
  unit,
  words,
})

const readingsOf = (at: PointChannel): Thread['readings'] => ({
  channel: at.channel,
  firstSeq: at.firstSeq,
  lastSeq: at.lastSeq,
  count: at.n,
})

const meanInput = (at: PointChannel): Input =>
  plain(
    'Mean of the readings',
    at.rawMean,
    at.rawUnit,
    `${at.n} readings, numbers ${at.firstSeq} to ${at.lastSeq} of channel ${at.channel.toUpperCase()}; ${at.leftOut} left out; ` +
      `standard deviation ${at.rawSd.toPrecision(3)}, effective number ${at.nEffective.toFixed(1)}`,
  )

function resistorInput(record: ChannelRecord, loom: Loom): Input[] {
  const { resistor } = record
  if (!resistor) return []
  const { calibration } = resistor
  return [
    loom.pull(
      `resistor.${resistor.record.id}.ohm`,
      `certificate ${calibration.certificate} of ${calibration.laboratory}, ${calibration.date}`,
    ),
  ]
}

function coefficientInputs(conversion: Conversion, words: string): Input[] {
  const own = (name: string, value: unknown, unit = '1') =>
    value === undefined ? [] : [plain(name, String(value), unit, words)]
  switch (conversion.kind) {
    case 'its90':
      return Object.entries(conversion.coefficients).flatMap(([name, value]) => own(name, value))
    case 'iec60751':
    case 'callendar-van-dusen':
      return [
        ...own('R0', conversion.r0, 'Ω'),
        ...own('A', conversion.a),
        ...own('B', conversion.b),
        ...own('C', conversion.c),
      ]
    case 'steinhart-hart':
      return conversion.coefficients.flatMap((value, i) => own(`A${conversion.powers?.[i] ?? i}`, value))
    case 'polynomial':
      return conversion.coefficients.flatMap((value, i) => own(`c${i}`, value))
    case 'beta':
      return [...own('R0', conversion.r0, 'Ω'), ...own('beta', conversion.beta, 'K')]
    case 'thermocouple':
      return own('type', conversion.type)
    case 'table':
      return own('points', conversion.x.length)
  }
}

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
  const calibration = record.calibration!
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

function selfHeatingWords(from: string): string {
  return (
    {
      pair: 'measured at this point with the currents I and sqrt(2) I',
      'pair-elsewhere': 'measured with the currents I and sqrt(2) I at the nearest other point',
      register: "the register's figure, in proportion to the square of the current",
      unknown: 'not known, none taken off',
    }[from] ?? from
  )
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

const lineInput = (line: BudgetLine): Input =>
  plain(
    line.name,
    line.u.toPrecision(3),
    'mK',
    `Type ${line.kind}, ${line.distribution}, ${line.correlation} between points, ` +
      `${Number.isFinite(line.degreesOfFreedom) ? `${line.degreesOfFreedom.toFixed(1)} degrees of freedom` : 'size taken as known'}; ${line.source}`,
  )

function expanded(budget: Combined, unitOf: (line: BudgetLine) => Input): Unfolded {
  return {
    formula: 'U = k u, u² = sum of the squares of the components, k = t(p, ν_eff)',
    source: 'JCGM 100:2008, 5.1.2, 5.2 and G.4',
    inputs: [
      plain(
        'k',
        budget.k.toFixed(4),
        '1',
        `ν_eff = ${Number.isFinite(budget.degreesOfFreedom) ? budget.degreesOfFreedom.toFixed(1) : '∞'}`,
      ),
      ...budget.lines.filter((l) => l.u > 0).map(unitOf),
    ],
  }
}

const usedPoints = (result: ThermometerResult) => result.points.filter((p) => p.included)

function coefficient(result: ThermometerResult, coefficientId: string, loom: Loom): Unfolded {
  const id = result.record.channel.id
  const model = MODEL_WORDS[result.model]!
  const { conversion } = result.fit!.fit
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

const ownCoefficients = (result: ThermometerResult, loom: Loom): Input[] =>
  Object.keys(loom.report.numbers)
    .filter((key) => key.startsWith(`${result.record.channel.id}.coefficient.`))
    .map((key) => loom.pull(key, 'fitted'))

function ofPoint(result: ThermometerResult, point: PointResult, what: string, loom: Loom): Unfolded | null {
  const id = result.record.channel.id
  const key = `${id}.point.${point.pair.point}`
  switch (what) {
    case 't90':
      return referenceTemperature(point, loom)
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
        pair.referenceMkPerRelative.toPrecision(6),
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
        source: MODEL_WORDS[result.model]!.source,
        inputs: [plain('t90', middle, '°C', 'chosen step of the table'), ...ownCoefficients(result, loom)],
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

function wtpThread(record: ChannelRecord, point: string, loom: Loom): Unfolded {
  const at = loom.analysis.input.points
    .find((p) => p.id === point)
    ?.channels.find((c) => c.channel === record.channel.id)
  const prefix = record.channel.role === 'reference' ? 'reference' : record.channel.id
  if (!at) {
    const others = Object.keys(loom.report.numbers).filter(
      (key) => key.startsWith(`${prefix}.wtp.`) && !key.endsWith('.change'),
    )
    return {
      formula: '(R after − R before) / (dR/dt)',
      source: 'definition',
      inputs: others.map((key) => loom.pull(key, 'measured')),
    }
  }
  return {
    formula: 'R(0.01 °C) = n Rs − (dR/dt) Δt, Δt the self-heating',
    source: 'definition of the ratio',
    inputs: [meanInput(at), ...resistorInput(record, loom)],
    readings: readingsOf(at),
  }
}

function ofResistor(id: string, loom: Loom): Unfolded | null {
  const { reference, thermometers, date } = loom.analysis
  const found = [reference.record, ...thermometers.map((t) => t.record)].find(
    (r) => r.resistor?.record.id === id,
  )
  if (!found?.resistor) return null
  const { calibration, record } = found.resistor
  const words = `certificate ${calibration.certificate} of ${calibration.laboratory}, ${calibration.date}`
  return {
    formula: 'Rs = Rcal [1 + α (T − Tcal) + β (T − Tcal)²] [1 + drift (date − date of calibration)]',
    source: "common practice, no source (the certificate's own temperature coefficients and drift)",
    inputs: [
      plain('Rcal', calibration.ohm, 'Ω', words),
      plain('Tcal', calibration.celsius, '°C', words),
      plain('T', record.keptAtC, '°C', `temperature at which the resistor is kept, u = ${record.uKeptAtK} K`),
      plain('α', calibration.alphaPerK, '1/K', words),
      plain('β', calibration.betaPerK2, '1/K²', words),
      plain('drift', calibration.driftPerYear, '1/a', `u = ${calibration.uDriftPerYear} per year`),
      plain('date', date, 'day', 'day of the session'),
      plain('U/Rcal', calibration.expandedRelative, '1', `k = ${calibration.k}`),
    ],
  }
}

function ofReference(rest: string, loom: Loom): Unfolded | null {
  const { reference } = loom.analysis
  const calibration = reference.record.calibration!
  if (rest.startsWith('wtp.')) return wtpThread(reference.record, rest.slice(4), loom)
  if (rest === 'rWtp') {
    if (reference.sessionWtp) {
      return {
        formula: 'mean of the measurements in this session',
        source: 'measured',
        inputs: reference.sessionWtp.points.map((p) => loom.pull(`reference.wtp.${p}`, `point ${p}`)),
      }
    }
    const entry = reference.record.wtp
    return {
      formula: 'entry in force: the newest not after the day of the session',
      source: 'register',
      inputs: entry ? [plain(`R(0.01 °C), ${entry.date}`, entry.ohm, 'Ω', entry.note ?? 'register')] : [],
    }
  }
  if (rest === 'calibration-u') {
    return {
      formula: 'u = U / k, linear between the temperatures of the certificate',
      source: `certificate ${calibration.certificate} of ${calibration.laboratory}, ${calibration.date}`,
      inputs: (calibration.uncertainty?.points ?? []).map((p) =>
        plain(`U at ${p.celsius} °C`, p.expandedMk, 'mK', `k = ${calibration.uncertainty!.k}`),
      ),
    }
  }
  return null
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
    const { calibration } = check.record
    return {
      formula: 't90 by the check thermometer − t90 by the reference',
      source: `certificate ${calibration!.certificate} of ${calibration!.laboratory}, ${calibration!.date}`,
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
    throw new ComparisonError('unknown-key', `The report has no number under the key ${key}.`, { key })
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
