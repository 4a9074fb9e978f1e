import { CodedError } from '../base/coded-error.ts'
import type { Analysis, ThermometerResult } from '../results/analysis.ts'
import type { ChannelRecord } from '../results/analysis-channel.ts'
import type { Verdict } from '../results/conformity.ts'
import type { ReportNumber } from './blocks.ts'
import type { ReportContent } from './content-types.ts'
import { administrative, itemId, software } from './dcc-administrative.ts'
import type { DccOptions } from './dcc-options.ts'
import { content, filled, hybridTemperatures, name, quantity, real, realList, type Xml } from './dcc-parts.ts'
import { coefficientName, MODEL_WORDS, percentOf, UNCERTAINTY_WORDS } from './words.ts'
import { xmlDocument } from './xml-document.ts'

export type { DccOptions } from './dcc-options.ts'

export const DCC_VERSION = '3.3.0'

const VERDICTS: Readonly<Record<Verdict, string>> = {
  pass: 'pass',
  'conditional-pass': 'conditionalPass',
  'conditional-fail': 'conditionalFail',
  fail: 'fail',
}

function equipment(analysis: Analysis, own: ChannelRecord): Xml {
  const { record } = analysis.reference
  const rows: Xml[] = []
  const add = (words: string, certificate: string, laboratory: string, serial: string) => {
    rows.push({
      '@refType': 'basic_normalUsed',
      ...name(words),
      'dcc:certificate': {
        'dcc:referral': content(`Certificate of ${laboratory}`),
        'dcc:referralID': filled(certificate),
        'dcc:procedure': 'none',
        'dcc:value': 'none',
      },
      ...(serial && {
        'dcc:identifications': {
          'dcc:identification': {
            'dcc:issuer': 'manufacturer',
            'dcc:value': filled(serial),
            ...name('Serial number'),
          },
        },
      }),
    })
  }
  const { calibration, thermometer } = record
  add(thermometer.name, calibration!.certificate, calibration!.laboratory, thermometer.serial)
  for (const resistor of [record.resistor, own.resistor]) {
    if (!resistor || (resistor === own.resistor && own.resistor.record.id === record.resistor?.record.id))
      continue
    const { certificate, laboratory } = resistor.calibration
    add(resistor.record.name, certificate, laboratory, resistor.record.serial)
  }
  if (own.instrument) {
    const { instrument } = own
    const by = instrument.laboratory ?? 'the laboratory'
    add(instrument.name, instrument.certificate ?? 'own check', by, instrument.serial)
  }
  return { 'dcc:measuringEquipment': rows }
}

function conditions(report: ReportContent, record: ChannelRecord): Xml {
  const { numbers } = report
  const probability = String(report.coverageProbability)
  const list: Xml[] = []
  const bounds = (key: string, refType: string, words: string) => {
    const [low, high] = [numbers[`conditions.${key}.lowest`], numbers[`conditions.${key}.highest`]]
    if (!low || !high) return
    const one = (entry: ReportNumber, end: 'Min' | 'Max') =>
      quantity(
        `${refType}${end}`,
        entry.name,
        key === 'air-temperature' ? hybridTemperatures([entry.value]) : real(entry, probability),
      )
    list.push({
      '@refType': refType,
      ...name(words),
      'dcc:data': { 'dcc:quantity': [one(low, 'Min'), one(high, 'Max')] },
    })
  }
  bounds('air-temperature', 'basic_temperature', 'Air temperature')
  bounds('humidity', 'basic_humidityRelative', 'Relative humidity')
  bounds('pressure', 'basic_airPressure', 'Air pressure')
  const exact = (words: string, value: number, unit: string): ReportNumber => ({
    name: words,
    value: String(value),
    unit,
    uncertainty: null,
    k: null,
    exact: value,
  })
  const { currentMa, immersionMm } = record.channel
  list.push({
    '@refType': 'gp_current',
    ...name('Measuring current'),
    'dcc:data': { 'dcc:quantity': real(exact('Measuring current', currentMa, 'mA'), probability) },
  })
  if (immersionMm !== undefined) {
    list.push({
      '@refType': 'gp_immersionDepth',
      ...name('Immersion depth'),
      'dcc:data': { 'dcc:quantity': real(exact('Immersion depth', immersionMm, 'mm'), probability) },
    })
  }
  return { 'dcc:influenceCondition': list }
}

function pointsResult(result: ThermometerResult, report: ReportContent): Xml {
  const id = result.record.channel.id
  const points = result.points.filter((p) => p.included)
  const entries = (what: string) => points.map((p) => report.numbers[`${id}.point.${p.pair.point}.${what}`]!)
  const texts = (what: string) => entries(what).map((e) => e.value)
  const probability = String(report.coverageProbability)
  const u = {
    values: entries('expanded').map((e) => e.uncertainty!),
    k: entries('expanded').map((e) => e.k!),
    probability,
  }
  const { conformity } = result
  const judged = conformity && points.filter((p) => conformity.points.some((c) => c.point === p.pair.point))
  const verdicts =
    conformity && judged?.length === points.length
      ? {
          'dcc:measurementMetaData': {
            'dcc:metaData': {
              '@refType': 'basic_conformity',
              ...name(`Class ${conformity.class}`),
              'dcc:norm': filled(conformity.source),
              'dcc:declaration': content(conformity.rule.words),
              'dcc:conformityXMLList': conformity.points.map((p) => VERDICTS[p.verdict]).join(' '),
            },
          },
        }
      : {}
  return {
    '@refType': 'gp_measuringResult1',
    ...name('Points of the comparison'),
    'dcc:data': {
      'dcc:list': {
        '@refType': 'gp_table1',
        'dcc:quantity': [
          quantity('basic_referenceValue', 'Reference temperature t90', hybridTemperatures(texts('t90'))),
          quantity(
            'basic_measuredValue',
            result.signalUnit === 'ohm' ? 'Resistance' : 'Thermal voltage',
            realList(texts('signal'), result.signalUnit === 'ohm' ? 'Ω' : 'mV'),
          ),
          quantity(
            'basic_measurementError',
            'Temperature by the coefficients less reference temperature, with the expanded uncertainty of the point',
            realList(texts('residual'), 'mK', u),
            verdicts,
          ),
        ],
      },
    },
  }
}

function coefficientsResult(result: ThermometerResult, report: ReportContent): Xml {
  const id = result.record.channel.id
  const probability = String(report.coverageProbability)
  const prefix = `${id}.coefficient.`
  const keys = Object.keys(report.numbers).filter((key) => key.startsWith(prefix))
  return {
    '@refType': 'gp_coefficients',
    ...name(`Coefficients: ${MODEL_WORDS[result.model]!.name}`),
    'dcc:description': content(MODEL_WORDS[result.model]!.equation),
    'dcc:data': {
      'dcc:list': {
        '@refType': 'gp_table2',
        'dcc:quantity': [
          ...keys.map((key) => {
            const label = coefficientName(result.model, key.slice(prefix.length))
            return quantity(null, label, real(report.numbers[key]!, probability, label))
          }),
          // Without them the coefficients' uncertainties say nothing of a temperature's.
          ...Object.entries(report.numbers)
            .filter(([key]) => key.startsWith(`${id}.correlation.`) && !key.endsWith(':u'))
            .map(([, entry]) => quantity(null, entry.name, real(entry, probability))),
        ],
      },
    },
  }
}

function tableResult(result: ThermometerResult, report: ReportContent): Xml {
  const id = result.record.channel.id
  const celsius = result.table.map((t) => String(t.celsius))
  const entries = (what: string) => celsius.map((t) => report.numbers[`${id}.table.${t}.${what}`]!)
  const probability = String(report.coverageProbability)
  const expanded = entries('expanded')
  return {
    ...name('Interpolation table'),
    'dcc:data': {
      'dcc:list': {
        'dcc:quantity': [
          quantity(null, 'Temperature t90', hybridTemperatures(celsius)),
          quantity(
            null,
            'Signal by the coefficients',
            realList(
              entries('signal').map((e) => e.value),
              result.signalUnit === 'ohm' ? 'Ω' : 'mV',
            ),
          ),
          quantity(
            null,
            'Error of a temperature found with the coefficients: estimate 0, with its expanded uncertainty',
            realList(
              expanded.map(() => '0'),
              'mK',
              { values: expanded.map((e) => e.uncertainty!), k: expanded.map((e) => e.k!), probability },
            ),
          ),
        ],
      },
    },
  }
}

function measurementResult(result: ThermometerResult, analysis: Analysis, report: ReportContent): Xml {
  const { thermometer, channel } = result.record
  return {
    '@refId': itemId(report, channel.id),
    ...name(`${thermometer.name}, serial number ${thermometer.serial || 'none'}`),
    'dcc:usedMethods': {
      'dcc:usedMethod': [
        {
          '@refType': 'gp_temperatureSensor',
          ...name('Calibration of a thermometer by comparison in a stirred liquid bath'),
          'dcc:norm': 'ITS-90',
        },
        {
          '@refType': 'basic_uncertainty',
          ...name('Expanded uncertainty'),
          'dcc:description': content(UNCERTAINTY_WORDS(percentOf(report.coverageProbability))),
          'dcc:norm': 'JCGM 100:2008',
        },
      ],
    },
    'dcc:usedSoftware': software(report),
    'dcc:measuringEquipments': equipment(analysis, result.record),
    'dcc:influenceConditions': conditions(report, result.record),
    'dcc:results': {
      'dcc:result': [
        pointsResult(result, report),
        coefficientsResult(result, report),
        ...(result.table.length > 0 ? [tableResult(result, report)] : []),
      ],
    },
  }
}

/** Nothing to certify: no thermometer under test has a result. The words say what to do. */
export class DccError extends CodedError<'no-result'> {
  constructor() {
    super(
      'no-result',
      'No thermometer under test has coefficients, so there is nothing a digital certificate could state.',
    )
  }
}

/**
 * The report as a Digital Calibration Certificate 3.3.0, values with D-SI units. Every number is the report's own text,
 * moved to SI units digit by digit.
 *
 * Throws DccError where no thermometer has a result.
 */
export function reportDcc(analysis: Analysis, report: ReportContent, options: DccOptions = {}): string {
  const results = analysis.thermometers.filter((t) => t.fit !== null)
  if (results.length === 0) throw new DccError()
  const root = {
    'dcc:digitalCalibrationCertificate': {
      '@xmlns:dcc': 'https://ptb.de/dcc',
      '@xmlns:si': 'https://ptb.de/si',
      '@xmlns:xsi': 'http://www.w3.org/2001/XMLSchema-instance',
      '@xsi:schemaLocation': `https://ptb.de/dcc https://ptb.de/dcc/v${DCC_VERSION}/dcc.xsd`,
      '@schemaVersion': DCC_VERSION,
      'dcc:administrativeData': administrative(report, analysis, options),
      'dcc:measurementResults': {
        'dcc:measurementResult': results.map((result) => measurementResult(result, analysis, report)),
      },
      ...(options.pdfBase64 && {
        'dcc:document': {
          'dcc:fileName': 'report.pdf',
          'dcc:mimeType': 'application/pdf',
          'dcc:dataBase64': options.pdfBase64,
        },
      }),
    },
  }
  return xmlDocument(root)
}
