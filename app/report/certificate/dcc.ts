import type { Analysis, ThermometerResult } from '../../results/analysis.ts'
import type { Verdict } from '../../results/conformity.ts'
import type { ReportNumber } from '../blocks.ts'
import { hybridTemperatures, real, realList, uncertaintiesOf, type Xml } from '../dcc-parts.ts'
import { numberAt } from '../numbers.ts'
import { coefficientName } from '../words.ts'
import type { Certificate } from './certificate.ts'
import {
  coefficientQuantities,
  type DccOptions,
  dccDocument,
  type NamedNumber,
  quantity,
} from './dcc-document.ts'
import { named, plainContent, said } from './dcc-text.ts'
import {
  hasBothSignals,
  rangeTemperatures,
  statedPoints,
  stepOf,
  tableOf,
  unitOfSignal,
} from './item-numbers.ts'
import type { MessageKey, Speaker } from './speaker.ts'
import { conditionSpan, equationOf, heldC, validRange } from './thermometer.ts'

const VERDICTS: Readonly<Record<Verdict, string>> = {
  pass: 'pass',
  'conditional-pass': 'conditionalPass',
  'conditional-fail': 'conditionalFail',
  fail: 'fail',
}

/** What the parts of a thermometer's XML are made from. */
interface Loom {
  readonly say: Speaker
  readonly result: ThermometerResult
  readonly certificate: Certificate
  readonly probability: string
}

function conditions({ say, result, probability }: Loom, analysis: Analysis): Xml {
  const exact = (value: string, unit: string): ReportNumber => ({
    name: '',
    value,
    unit,
    uncertainty: null,
    k: null,
    exact: Number(value),
  })
  const list: Xml[] = []
  const span = (
    key: 'air-temperature' | 'humidity' | 'pressure',
    refType: string,
    unit: string,
    decimals: number,
  ) => {
    const found = conditionSpan(analysis, key)
    if (!found) return
    const one = (end: 'Min' | 'Max', value: number): Xml => {
      const text = value.toFixed(decimals)
      const body = unit === '°C' ? hybridTemperatures([text]) : real(exact(text, unit), probability)
      return { '@refType': `${refType}${end}`, ...named(say, `condition.${key}`), ...body }
    }
    list.push({
      '@refType': refType,
      ...named(say, `condition.${key}`),
      'dcc:data': { 'dcc:quantity': [one('Min', found[0]), one('Max', found[1])] },
    })
  }
  span('air-temperature', 'basic_temperature', '°C', 1)
  span('humidity', 'basic_humidityRelative', '%', 0)
  span('pressure', 'basic_airPressure', 'hPa', 0)
  const { currentMa, immersionMm } = result.record.channel
  const single = (refType: string, key: MessageKey, value: number, unit: string) =>
    list.push({
      '@refType': refType,
      ...named(say, key),
      'dcc:data': {
        'dcc:quantity': { ...named(say, key), ...real(exact(String(value), unit), probability) },
      },
    })
  if (result.signalUnit === 'ohm') single('gp_current', 'current', currentMa, 'mA')
  if (immersionMm !== undefined) single('gp_immersionDepth', 'immersion', immersionMm, 'mm')
  return { 'dcc:influenceCondition': list }
}

/** Verdicts of the points that were judged, with the limits of the class; none where no class was asked for. */
function conformity({ say, result, certificate: { numbers } }: Loom): Xml {
  const { conformity: found } = result
  if (!found) return {}
  const tolerances = statedPoints(result).map((_, i) => numbers[`point.${i + 1}.tolerance`]?.value)
  const limits = tolerances.flatMap((t) => t ?? [])
  if (limits.length !== tolerances.length) return {}
  const limit = (refType: string, key: MessageKey, sign: string) =>
    quantity(
      refType,
      say,
      key,
      realList(
        limits.map((t) => `${sign}${t}`),
        'mK',
      ),
    )
  return {
    'dcc:measurementMetaData': {
      'dcc:metaData': {
        '@refType': 'basic_conformity',
        ...named(say, 'conformity'),
        'dcc:norm': 'IEC 60751:2022',
        'dcc:reference': found.class,
        'dcc:declaration': said(say, found.rule.guardFactor === 0 ? 'rule.simple' : 'rule.guarded'),
        'dcc:conformityXMLList': found.points.map((p) => VERDICTS[p.verdict]).join(' '),
        'dcc:data': {
          'dcc:quantity': [
            limit('basic_acceptanceLimitLower', 'dcc.limit.low', '-'),
            limit('basic_acceptanceLimitUpper', 'dcc.limit.high', ''),
          ],
        },
      },
    },
  }
}

function pointsResult(loom: Loom): Xml {
  const { say, result, certificate, probability } = loom
  const points = statedPoints(result)
  const entries = (what: string) =>
    points.flatMap((_, i) => certificate.numbers[`point.${i + 1}.${what}`] ?? [])
  const list = (what: string, unit: string): Xml => {
    const all = entries(what)
    const values = all.map((e) => e.value)
    return all[0]?.uncertainty == null
      ? realList(values, unit)
      : realList(values, unit, uncertaintiesOf(all, probability))
  }
  const unit = unitOfSignal(result)
  const u = entries('u')
  const both = hasBothSignals(result)
  const has = (what: string) => entries(what).length === points.length && points.length > 0
  return {
    '@refType': 'gp_measuringResult1',
    ...named(say, 'results'),
    'dcc:data': {
      'dcc:list': {
        '@refType': 'gp_table1',
        'dcc:quantity': [
          quantity(
            'basic_referenceValue',
            say,
            'dcc.reference',
            hybridTemperatures(
              entries('t90').map((e) => e.value),
              uncertaintiesOf(u, probability),
            ),
          ),
          ...(both ? [quantity('basic_measuredValue', say, 'dcc.measured.at', list('measured', unit))] : []),
          quantity(
            both ? null : 'basic_measuredValue',
            say,
            both || unit === 'mV' ? 'dcc.measured' : 'dcc.measured.at',
            list('signal', unit),
          ),
          ...(has('deviation')
            ? [
                quantity(
                  'basic_measurementError',
                  say,
                  'dcc.deviation',
                  list('deviation', 'mK'),
                  conformity(loom),
                ),
              ]
            : []),
          quantity(null, say, 'dcc.residual', list('residual', 'mK')),
        ],
      },
    },
  }
}

/** The coefficients one by one, and together with the covariance of their errors. */
function coefficientsResult({ say, result, certificate, probability }: Loom): Xml {
  const { model, coefficients } = result
  const { numbers } = certificate
  const own = coefficients.map(({ name }) => ({
    id: name,
    name: coefficientName(model, name),
    entry: numberAt(numbers, `coefficient.${name}`),
  }))
  const idOf = new Map(own.map(({ id, entry }) => [entry, id]))
  const held = heldC(result)
  const conversion = result.fit?.fit.conversion
  const more =
    held === null
      ? []
      : [
          {
            name: 'C',
            entry: {
              ...{ name: 'C', value: String(held), unit: '1/°C⁴' },
              ...{ uncertainty: null, k: null, exact: held },
            },
          },
        ]
  const covariance = (a: NamedNumber, b: NamedNumber) =>
    numberAt(numbers, `covariance.${idOf.get(a.entry)}:${idOf.get(b.entry)}`).value
  return {
    '@refType': 'gp_coefficients',
    ...named(say, `model.${model}` as MessageKey),
    'dcc:description': plainContent(
      conversion?.kind === 'its90' && conversion.subrange
        ? `${equationOf(result)} (ITS-90, ${conversion.subrange})`
        : equationOf(result),
    ),
    'dcc:data': {
      'dcc:list': {
        '@refType': 'gp_table2',
        'dcc:quantity': coefficientQuantities(say, own, covariance, probability, more),
      },
    },
  }
}

/** The relation at temperatures: signal, U, and the parts from which a program computes U itself. */
function relationResult(
  { say, result, certificate, probability }: Loom,
  key: MessageKey,
  prefix: string,
  temperatures: readonly number[],
): Xml {
  const entries = (what: string) =>
    temperatures.map((t) => numberAt(certificate.numbers, `${prefix}.${t}.${what}`))
  const texts = (what: string) => entries(what).map((e) => e.value)
  const u = entries('u')
  return {
    ...named(say, key),
    'dcc:data': {
      'dcc:list': {
        'dcc:quantity': [
          quantity(null, say, 'column.t90', hybridTemperatures(temperatures.map(String))),
          quantity(
            null,
            say,
            unitOfSignal(result) === 'mV' ? 'column.voltage' : 'column.resistance',
            realList(texts('signal'), unitOfSignal(result)),
          ),
          quantity(
            null,
            say,
            'dcc.curve',
            realList(
              u.map(() => '0'),
              'mK',
              uncertaintiesOf(u, probability),
            ),
          ),
          quantity(null, say, 'dcc.interpolation', realList(texts('beyond'), 'mK')),
          quantity(null, say, 'dcc.freedom', realList(texts('freedom'), '1')),
        ],
      },
    },
  }
}

function rangeStatement({ say, result }: Loom): Xml {
  const [low, high] = validRange(result)
  const end = (refType: string, key: MessageKey, celsius: string): Xml =>
    quantity(refType, say, key, hybridTemperatures([celsius]))
  return {
    '@refType': 'basic_validityRange',
    'dcc:declaration': said(say, 'dcc.range'),
    'dcc:data': {
      'dcc:quantity': [
        end('basic_validityRangeMin', 'dcc.range.low', low),
        end('basic_validityRangeMax', 'dcc.range.high', high),
      ],
    },
  }
}

/**
 * The certificate of one thermometer as a Digital Calibration Certificate 3.3.0, values with D-SI units: every number is
 * the certificate's own text, moved to SI units digit by digit. null where the thermometer has no coefficients, so that
 * there is nothing a digital certificate could state.
 */
export function certificateDcc(
  certificate: Certificate,
  result: ThermometerResult,
  analysis: Analysis,
  say: Speaker,
  options: DccOptions = {},
): string | null {
  if (!result.fit) return null
  const { matter } = certificate
  const loom: Loom = { say, result, certificate, probability: String(matter.coverageProbability) }
  const step = stepOf(result, analysis)
  return dccDocument(
    say,
    matter,
    {
      range: rangeStatement(loom),
      method: {
        refType:
          result.record.thermometer.kind === 'thermocouple'
            ? 'gp_temperatureSensor'
            : 'gp_resistanceThermometer',
        key: 'dcc.method.comparison',
        norm: 'ITS-90',
      },
      conditions: conditions(loom, analysis),
      results: [
        pointsResult(loom),
        coefficientsResult(loom),
        relationResult(loom, 'dcc.relation', 'range', rangeTemperatures(result)),
        ...(step === null ? [] : [relationResult(loom, 'table', 'table', tableOf(result, step))]),
      ],
    },
    options,
  )
}
