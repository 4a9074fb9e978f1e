import type { ReportNumber } from '../blocks.ts'
import { real, siUnit, type Xml } from '../dcc-parts.ts'
import { moved } from '../decimal-text.ts'
import { percentOf } from '../words.ts'
import { xmlDocument } from '../xml-document.ts'
import type { CertificateMatter } from './certificate.ts'
import { administrative, equipment, software } from './dcc-administrative.ts'
import { named, plainContent, said } from './dcc-text.ts'
import { unitProduct } from './dcc-units.ts'
import type { MessageKey, Speaker } from './speaker.ts'

/** What every Digital Calibration Certificate has, whatever was calibrated. */

const DCC_VERSION = '3.3.0'

export interface DccOptions {
  /** The PDF of the same certificate, embedded for people to read. */
  readonly pdf?: { readonly file: string; readonly base64: string }
  /** SHA-256 of the version this one replaces, where it is at hand. */
  readonly previousHash?: { readonly identifier: string; readonly sha256: string }
  /** Whether a signature is put into the file afterwards. */
  readonly signed?: boolean
}

export const quantity = (
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

/** A coefficient by the name that it has in its relation. */
export interface NamedNumber {
  readonly name: string
  readonly entry: ReportNumber
}

/** Coefficients one by one, then `more` of them that are held, and all that were found together with the covariance of their errors. */
export function coefficientQuantities(
  say: Speaker,
  own: readonly NamedNumber[],
  covariance: (a: NamedNumber, b: NamedNumber) => string,
  probability: string,
  more: readonly NamedNumber[] = [],
): Xml[] {
  const label = (name: string) => name.replace(/\s/g, '')
  const single = ({ name, entry }: NamedNumber): Xml => ({
    'dcc:name': plainContent(name),
    ...real(entry, probability, label(name)),
  })
  const column = (a: NamedNumber): Xml => ({
    'si:covarianceXMLList': own.map((b): Xml => {
      const { unit, power } = unitProduct(a.entry.unit, b.entry.unit)
      return { 'si:valueXMLList': moved(covariance(a, b), power), 'si:unitXMLList': unit }
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
  return [...own.map(single), ...more.map(single), ...(own.length > 1 ? [together] : [])]
}

export interface DccContent {
  /** Range in which it holds, as a statement; null: it has none. */
  readonly range: Xml | null
  readonly method: { readonly refType: string; readonly key: MessageKey; readonly norm: string }
  readonly conditions: Xml
  readonly results: readonly Xml[]
}

/** The whole XML of a certificate of one item. */
export function dccDocument(
  say: Speaker,
  matter: CertificateMatter,
  { range, method, conditions, results }: DccContent,
  { pdf, previousHash, signed = false }: DccOptions,
): string {
  return xmlDocument({
    'dcc:digitalCalibrationCertificate': {
      '@xmlns:dcc': 'https://ptb.de/dcc',
      '@xmlns:si': 'https://ptb.de/si',
      '@xmlns:xsi': 'http://www.w3.org/2001/XMLSchema-instance',
      '@xsi:schemaLocation': `https://ptb.de/dcc https://ptb.de/dcc/v${DCC_VERSION}/dcc.xsd`,
      '@schemaVersion': DCC_VERSION,
      'dcc:administrativeData': administrative(say, matter, range, signed, previousHash ?? null),
      'dcc:measurementResults': {
        'dcc:measurementResult': {
          '@refId': 'item1',
          ...named(say, 'results'),
          'dcc:usedMethods': {
            'dcc:usedMethod': [
              {
                '@refType': method.refType,
                ...named(say, method.key),
                ...(matter.laboratory.procedure && {
                  'dcc:description': plainContent(matter.laboratory.procedure),
                }),
                'dcc:norm': method.norm,
              },
              {
                '@refType': 'basic_uncertainty',
                ...named(say, 'dcc.method.uncertainty'),
                'dcc:description': said(say, 'uncertainty', {
                  percent: percentOf(matter.coverageProbability),
                }),
                'dcc:norm': 'JCGM 100:2008',
              },
            ],
          },
          'dcc:usedSoftware': software(matter),
          'dcc:measuringEquipments': equipment(say, matter),
          'dcc:influenceConditions': conditions,
          'dcc:results': { 'dcc:result': results },
        },
      },
      ...(pdf && {
        'dcc:document': {
          'dcc:fileName': pdf.file,
          'dcc:mimeType': 'application/pdf',
          'dcc:dataBase64': pdf.base64,
        },
      }),
    },
  })
}
