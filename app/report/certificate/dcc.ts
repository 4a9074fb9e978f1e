import type { Analysis, ThermometerResult } from '../../results/analysis.ts'
import type { Verdict } from '../../results/conformity.ts'
import type { ReportNumber } from '../blocks.ts'
import { hybridTemperatures, moved, real, realList, siUnit, type Xml } from '../dcc-parts.ts'
import { coefficientName, percentOf } from '../words.ts'
import { xmlDocument } from '../xml-document.ts'
import type { Certificate } from './certificate.ts'
import { administrative, equipment, software } from './dcc-administrative.ts'
import { named, plainContent, said } from './dcc-text.ts'
import { unitProduct } from './dcc-units.ts'
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

export const DCC_VERSION = '3.3.0'

export interface DccOptions {
  /** The PDF of the same certificate, embedded for people to read. */
  readonly pdf?: { readonly file: string; readonly base64: string }
  /** SHA-256 of the version this one replaces, where it is at hand. */
  readonly previousHash?: { readonly identifier: string; readonly sha256: string }
  /** Whether a signature is put into the file afterwards. */
  readonly signed?: boolean
}

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

const quantity = (
  refType: string | null,
  say: Speaker,
  key: MessageKey,
  body: Xml,
  after: Xml = {},
): Xml => ({
  ...(refType && { '@refType': refType }),
  ...named(say, key),
  ...body,
  ...after,
})

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
      : realList(values, unit, {
          values: all.map((e) => e.uncertainty!),
          k: all.map((e) => e.k!),
          probability,
        })
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
              { values: u.map((e) => e.uncertainty!), k: u.map((e) => e.k!), probability },
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

/** Probability that n independent normal errors lie within the ellipsoid of one standard uncertainty. */
export function ellipsoidProbability(n: number): number {
  // Chi-squared below one with n degrees of freedom, two at a time from one or two of them up.
  let probability = n % 2 === 1 ? 0.6826894921370859 : 1 - Math.exp(-0.5)
  let term = n % 2 === 1 ? Math.sqrt(2 / Math.PI) * Math.exp(-0.5) : 0.5 * Math.exp(-0.5)
  for (let m = n % 2 === 1 ? 1 : 2; m + 2 <= n; m += 2) {
    probability -= term
    term /= m + 2
  }
  return probability
}

/** The coefficients one by one, and together with the covariance of their errors. */
function coefficientsResult({ say, result, certificate, probability }: Loom): Xml {
  const { model, coefficients } = result
  const { numbers } = certificate
  const label = (name: string) => coefficientName(model, name).replace(/\s/g, '')
  const own = coefficients.map(({ name }) => ({ name, entry: numbers[`coefficient.${name}`]! }))
  const held = heldC(result)
  const conversion = result.fit?.fit.conversion
  const single = (name: string, entry: ReportNumber): Xml => ({
    'dcc:name': plainContent(coefficientName(model, name)),
    ...real(entry, probability, label(name)),
  })
  const column = (a: { name: string; entry: ReportNumber }): Xml => ({
    'si:covarianceXMLList': own.map((b): Xml => {
      const { unit, power } = unitProduct(a.entry.unit, b.entry.unit)
      return {
        'si:valueXMLList': moved(numbers[`covariance.${a.name}:${b.name}`]!.value, power),
        'si:unitXMLList': unit,
      }
    }),
  })
  const together: Xml = {
    ...named(say, 'dcc.coefficients'),
    'si:realListXMLList': {
      'si:labelXMLList': own.map(({ name }) => label(name)).join(' '),
      'si:valueXMLList': own.map(({ entry }) => moved(entry.value, siUnit(entry.unit).power)).join(' '),
      'si:unitXMLList': own.map(({ entry }) => siUnit(entry.unit).unit).join(' '),
      'si:measurementUncertaintyMultivariateXMLList': {
        'si:ellipsoidalRegionMUXMLList': {
          'si:covarianceMatrixXMLList': { 'si:columnXMLList': own.map(column) },
          'si:coverageFactorXMLList': '1',
          'si:coverageProbabilityXMLList': ellipsoidProbability(own.length).toPrecision(4),
          'si:distributionXMLList': 'normal',
        },
      },
    },
  }
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
        'dcc:quantity': [
          ...own.map(({ name, entry }) => single(name, entry)),
          ...(held === null
            ? []
            : [
                single('c', {
                  name: 'C',
                  value: String(held),
                  unit: '1/°C⁴',
                  uncertainty: null,
                  k: null,
                  exact: held,
                }),
              ]),
          ...(own.length > 1 ? [together] : []),
        ],
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
  const entries = (what: string) => temperatures.map((t) => certificate.numbers[`${prefix}.${t}.${what}`]!)
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
              { values: u.map((e) => e.uncertainty!), k: u.map((e) => e.k!), probability },
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

function measurementResult(loom: Loom, analysis: Analysis): Xml {
  const { say, result, certificate } = loom
  const { matter } = certificate
  const step = stepOf(result, analysis)
  return {
    '@refId': 'item1',
    ...named(say, 'results'),
    'dcc:usedMethods': {
      'dcc:usedMethod': [
        {
          '@refType':
            result.record.thermometer.kind === 'thermocouple'
              ? 'gp_temperatureSensor'
              : 'gp_resistanceThermometer',
          ...named(say, 'dcc.method.comparison'),
          ...(matter.laboratory.procedure && {
            'dcc:description': plainContent(matter.laboratory.procedure),
          }),
          'dcc:norm': 'ITS-90',
        },
        {
          '@refType': 'basic_uncertainty',
          ...named(say, 'dcc.method.uncertainty'),
          'dcc:description': said(say, 'uncertainty', { percent: percentOf(matter.coverageProbability) }),
          'dcc:norm': 'JCGM 100:2008',
        },
      ],
    },
    'dcc:usedSoftware': software(matter),
    'dcc:measuringEquipments': equipment(say, matter),
    'dcc:influenceConditions': conditions(loom, analysis),
    'dcc:results': {
      'dcc:result': [
        pointsResult(loom),
        coefficientsResult(loom),
        relationResult(loom, 'dcc.relation', 'range', rangeTemperatures(result)),
        ...(step === null ? [] : [relationResult(loom, 'table', 'table', tableOf(result, step))]),
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
  { pdf, previousHash, signed = false }: DccOptions = {},
): string | null {
  if (!result.fit) return null
  const { matter } = certificate
  const loom: Loom = { say, result, certificate, probability: String(matter.coverageProbability) }
  const root = {
    'dcc:digitalCalibrationCertificate': {
      '@xmlns:dcc': 'https://ptb.de/dcc',
      '@xmlns:si': 'https://ptb.de/si',
      '@xmlns:xsi': 'http://www.w3.org/2001/XMLSchema-instance',
      '@xsi:schemaLocation': `https://ptb.de/dcc https://ptb.de/dcc/v${DCC_VERSION}/dcc.xsd`,
      '@schemaVersion': DCC_VERSION,
      'dcc:administrativeData': administrative(
        say,
        matter,
        rangeStatement(loom),
        signed,
        previousHash ?? null,
      ),
      'dcc:measurementResults': { 'dcc:measurementResult': measurementResult(loom, analysis) },
      ...(pdf && {
        'dcc:document': {
          'dcc:fileName': pdf.file,
          'dcc:mimeType': 'application/pdf',
          'dcc:dataBase64': pdf.base64,
        },
      }),
    },
  }
  return xmlDocument(root)
}
