import { first } from '../../base/lists.ts'
import { utcDay } from '../../base/times.ts'
import { filled, type Xml } from '../dcc-parts.ts'
import { missingLinks } from '../traceability.ts'
import { percentOf } from '../words.ts'
import { type CertificateMatter, certificateName } from './certificate.ts'
import { contents, named, plainContent, plainName, said } from './dcc-text.ts'
import type { MessageKey, Speaker } from './speaker.ts'

function address(lines: readonly string[], country: string | null, say: Speaker): Xml {
  const text = lines.join(', ')
  return {
    ...(country && { 'dcc:countryCode': country }),
    'dcc:further': text === '' ? said(say, 'dcc.address.none') : plainContent(text),
  }
}

/** The program as the DCC names software: its release is a letter and a version. */
export function software({ program }: CertificateMatter): Xml {
  const release = /\d{1,3}(\.\d{1,3}){0,3}/.exec(program.version)?.[0] ?? '0'
  return {
    'dcc:software': { ...plainName(program.name), 'dcc:release': `v${release}`, 'dcc:type': 'application' },
  }
}

const identifier = (number: string, version: number) => `${number}/${version}`

function statements(say: Speaker, matter: CertificateMatter, range: Xml | null): Xml[] {
  const { signedOff } = matter.issue
  const answers = signedOff?.statements
  const whole = missingLinks(matter.links).length === 0
  return [
    {
      'dcc:norm': 'ISO/IEC 17025:2017',
      'dcc:reference': '7.8.2.1',
      'dcc:declaration': said(say, 'items-only'),
    },
    {
      'dcc:norm': 'JCGM 100:2008',
      'dcc:declaration': said(say, 'uncertainty', { percent: percentOf(matter.coverageProbability) }),
    },
    {
      'dcc:traceable': String(whole),
      'dcc:declaration': said(say, whole ? 'traceability.whole' : 'traceability.gaps'),
    },
    ...(range ? [range] : []),
    ...(answers
      ? Object.entries(answers).map(
          ([key, answer]): Xml => ({
            ...named(say, `statement.${key}` as MessageKey),
            'dcc:declaration':
              answer === null
                ? said(say, key === 'adjustment' ? 'statement.as-found' : 'statement.none')
                : plainContent(answer),
          }),
        )
      : []),
    ...(signedOff ? [] : [{ 'dcc:declaration': said(say, 'draft.statement') }]),
  ]
}

/** Who, for whom, which item, when and by what right: the administrative data of a certificate of any item. */
export function administrative(
  say: Speaker,
  matter: CertificateMatter,
  range: Xml | null,
  signed: boolean,
  previousHash: { readonly identifier: string; readonly sha256: string } | null,
): Xml {
  const { issue, laboratory, customer, item } = matter
  const { signedOff, replaces, number, version } = issue
  const country = say.country(laboratory.country)
  return {
    'dcc:dccSoftware': software(matter),
    'dcc:coreData': {
      'dcc:countryCodeISO3166_1': laboratory.country,
      'dcc:usedLangCodeISO639_1': [...say.languages],
      'dcc:mandatoryLangCodeISO639_1': [...say.languages],
      'dcc:uniqueIdentifier': filled(number === null ? certificateName(matter) : identifier(number, version)),
      ...(matter.order && {
        'dcc:identifications': {
          'dcc:identification': {
            'dcc:issuer': 'calibrationLaboratory',
            'dcc:value': filled(matter.order),
            ...named(say, 'order'),
          },
        },
      }),
      ...(matter.received && { 'dcc:receiptDate': matter.received }),
      'dcc:beginPerformanceDate': matter.from,
      'dcc:endPerformanceDate': matter.to,
      'dcc:performanceLocation': 'laboratory',
      ...(signedOff && { 'dcc:issueDate': utcDay(signedOff.utcUs) }),
      ...(replaces && {
        'dcc:reportAmendedSubstituted': {
          'dcc:typeOfChange': 'amended',
          'dcc:replacedUniqueIdentifier': filled(identifier(replaces.number, replaces.version)),
        },
      }),
      ...(previousHash && {
        'dcc:previousReport': {
          'dcc:referral': said(say, 'dcc.replaced'),
          'dcc:referralID': filled(previousHash.identifier),
          'dcc:procedure': 'SHA-256',
          'dcc:value': previousHash.sha256,
        },
      }),
    },
    'dcc:items': {
      'dcc:item': {
        '@id': 'item1',
        ...named(say, item.kind),
        ...(item.element && { 'dcc:description': said(say, item.element) }),
        ...(item.maker && { 'dcc:manufacturer': plainName(item.maker) }),
        ...(item.model && { 'dcc:model': filled(item.model) }),
        'dcc:identifications': {
          'dcc:identification': [
            ...(item.serial
              ? [
                  {
                    'dcc:issuer': 'manufacturer',
                    'dcc:value': filled(item.serial),
                    ...named(say, 'serial'),
                  },
                ]
              : []),
            ...(item.name
              ? [
                  {
                    'dcc:issuer': 'customer',
                    'dcc:value': filled(item.name),
                    ...named(say, 'identification'),
                  },
                ]
              : []),
            {
              'dcc:issuer': 'calibrationLaboratory',
              'dcc:value': filled(item.id),
              ...named(say, 'dcc.register'),
            },
          ],
        },
      },
    },
    'dcc:calibrationLaboratory': {
      'dcc:contact': {
        ...plainName(laboratory.name),
        'dcc:location': address(
          [...laboratory.address, ...(country[0] ? [country[0].text] : [])],
          laboratory.country,
          say,
        ),
      },
      'dcc:cryptElectronicSignature': String(signed),
    },
    'dcc:respPersons': {
      'dcc:respPerson': {
        'dcc:person': plainName(signedOff?.who ?? matter.calibratedBy),
        'dcc:description': signedOff ? said(say, 'dcc.signer') : said(say, 'draft.statement'),
        'dcc:mainSigner': String(signedOff !== null),
        ...(signedOff && { 'dcc:cryptElectronicSignature': String(signed) }),
      },
    },
    'dcc:customer': {
      ...plainName(customer?.name ?? laboratory.name),
      'dcc:location': address(
        customer?.address ?? laboratory.address,
        customer ? null : laboratory.country,
        say,
      ),
    },
    'dcc:statements': { 'dcc:statement': statements(say, matter, range) },
  }
}

/** Equipment that the results rest on, each link with its certificate. */
export const equipment = (say: Speaker, { links }: CertificateMatter): Xml => ({
  'dcc:measuringEquipment': links.map((link): Xml => {
    const laboratory = link.laboratory ?? first(say.told('link.missing')).text
    const accredited = link.accreditation === null ? laboratory : `${laboratory} (${link.accreditation})`
    return {
      '@refType': 'basic_normalUsed',
      ...plainName(link.name),
      'dcc:description': contents(say.told(`use.${link.use}`)),
      'dcc:certificate': {
        'dcc:referral': said(say, 'dcc.certificate-of', { laboratory: accredited }),
        'dcc:referralID': filled(link.certificate ?? first(say.told('link.missing')).text),
        'dcc:procedure': 'none',
        'dcc:value': 'none',
      },
      ...(link.serial && {
        'dcc:identifications': {
          'dcc:identification': {
            'dcc:issuer': 'manufacturer',
            'dcc:value': filled(link.serial),
            ...named(say, 'serial'),
          },
        },
      }),
    }
  }),
})
