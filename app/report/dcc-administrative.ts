import type { Analysis } from '../results/analysis.ts'
import type { ReportContent } from './content-types.ts'
import type { DccOptions } from './dcc-options.ts'
import { content, filled, name, type Xml } from './dcc-parts.ts'
import { ITEMS_WORDS, KIND_WORDS, percentOf, UNCERTAINTY_WORDS } from './words.ts'

const identifier = (report: { number: string; version: number }) => `${report.number}/${report.version}`

function address(lines: readonly string[], country: string | null): Xml {
  return {
    ...(country && { 'dcc:countryCode': country }),
    'dcc:further': content(lines.join(', ') || 'address not stated'),
  }
}

/** The program as the DCC names software: its release is a letter and a version. */
export function software(report: ReportContent): Xml {
  const release = /\d{1,3}(\.\d{1,3}){0,3}/.exec(report.program.version)?.[0] ?? '0'
  return {
    'dcc:software': { ...name(report.program.name), 'dcc:release': `v${release}`, 'dcc:type': 'application' },
  }
}

/** The id under which the certificate's results point at the item they are of. */
export const itemId = (report: ReportContent, channel: string): string =>
  `item${report.items.findIndex((item) => item.channel === channel) + 1}`

/** Who, for whom, which items, when and by what right: the certificate's administrative data. */
export function administrative(report: ReportContent, analysis: Analysis, options: DccOptions): Xml {
  const { laboratory, customer, items, dates } = report
  const probability = String(report.coverageProbability)
  return {
    'dcc:dccSoftware': software(report),
    'dcc:coreData': {
      'dcc:countryCodeISO3166_1': laboratory.country,
      'dcc:usedLangCodeISO639_1': 'en',
      'dcc:mandatoryLangCodeISO639_1': 'en',
      'dcc:uniqueIdentifier': filled(identifier(report)),
      'dcc:identifications': {
        'dcc:identification': {
          'dcc:issuer': 'calibrationLaboratory',
          'dcc:value': filled(report.session),
          ...name('Session from whose readings this certificate was computed'),
        },
      },
      ...(dates.received && { 'dcc:receiptDate': dates.received }),
      'dcc:beginPerformanceDate': dates.from,
      'dcc:endPerformanceDate': dates.to,
      'dcc:performanceLocation': 'laboratory',
      ...(dates.issued && { 'dcc:issueDate': dates.issued }),
      ...(report.replaces && {
        'dcc:reportAmendedSubstituted': {
          'dcc:typeOfChange': 'amended',
          'dcc:replacedUniqueIdentifier': filled(identifier(report.replaces)),
        },
      }),
      ...(options.previousHash && {
        'dcc:previousReport': {
          'dcc:referral': content('Certificate replaced by this one'),
          'dcc:referralID': filled(options.previousHash.identifier),
          'dcc:procedure': 'SHA-256',
          'dcc:value': options.previousHash.sha256,
        },
      }),
    },
    'dcc:items': {
      'dcc:item': items.map((item, i) => ({
        '@id': itemId(report, item.channel),
        ...name(`${KIND_WORDS[analysis.thermometers[i]!.record.thermometer.kind]}, ${item.description}`),
        ...(item.maker && { 'dcc:manufacturer': name(item.maker) }),
        ...(item.model && { 'dcc:model': filled(item.model) }),
        'dcc:identifications': {
          'dcc:identification': [
            ...(item.serial
              ? [{ 'dcc:issuer': 'manufacturer', 'dcc:value': filled(item.serial), ...name('Serial number') }]
              : []),
            {
              'dcc:issuer': 'calibrationLaboratory',
              'dcc:value': filled(item.id),
              ...name('Register of the laboratory'),
            },
          ],
        },
      })),
    },
    'dcc:calibrationLaboratory': {
      'dcc:contact': {
        ...name(laboratory.name),
        'dcc:location': address(laboratory.address, laboratory.country),
      },
      'dcc:cryptElectronicSignature': 'false',
    },
    'dcc:respPersons': {
      'dcc:respPerson': {
        'dcc:person': name(report.authorisedBy ?? report.operator),
        'dcc:description': content(
          report.authorisedBy
            ? 'Authorised the results'
            : 'Calibrated; no person has authorised these results yet',
        ),
        'dcc:mainSigner': report.authorisedBy ? 'true' : 'false',
      },
    },
    'dcc:customer': {
      ...name(customer?.name ?? laboratory.name),
      'dcc:location': address(customer?.address ?? laboratory.address, customer ? null : laboratory.country),
    },
    'dcc:statements': {
      'dcc:statement': [
        {
          'dcc:norm': 'ISO/IEC 17025:2017',
          'dcc:reference': '7.8.2.1',
          'dcc:declaration': content(ITEMS_WORDS),
        },
        {
          'dcc:norm': 'JCGM 100:2008',
          'dcc:declaration': content(UNCERTAINTY_WORDS(percentOf(report.coverageProbability))),
        },
        {
          'dcc:traceable': 'true',
          'dcc:declaration': content(
            'The results are traceable to the SI through the certificates of the measuring equipment; temperatures on the ITS-90.',
          ),
        },
        ...(report.status === 'draft'
          ? [{ 'dcc:declaration': content(`Draft: not authorised. Coverage probability ${probability}.`) }]
          : []),
      ],
    },
  }
}
