import { first } from '../../base/lists.ts'
import { utcDay } from '../../base/times.ts'
import type { SignerStatements } from '../../records/certificate.ts'
import type { Block, Cell } from '../blocks.ts'
import type { Printable } from '../printable.ts'
import { lackOf, missingLinks } from '../traceability.ts'
import { percentOf } from '../words.ts'
import { type Certificate, type CertificateMatter, certificateName } from './certificate.ts'
import { joined, type MessageKey, type Speaker } from './speaker.ts'

/** Parts that stand in every certificate, whatever was calibrated. */

type Row = { readonly label: string; readonly cells: readonly string[] }

const row = (say: Speaker, label: MessageKey, ...cells: readonly string[]): Row[] =>
  cells.length === 0 ? [] : [{ label: say.line(label), cells }]

const country = (say: Speaker, code: string): string[] => {
  const told = say.country(code)
  return told.length === 0 ? [] : [joined(told)]
}

/** What the item is, in words. */
export function itemWords(say: Speaker, { item }: CertificateMatter): string {
  const kind = say.line(item.kind)
  return item.element ? `${kind}, ${say.line(item.element)}` : kind
}

/** Title, who, for whom, which item, when. */
export function headBlocks(say: Speaker, matter: CertificateMatter): Block[] {
  const { issue, laboratory, customer, item } = matter
  const { signedOff, number, version } = issue
  const blocks: Block[] = [
    { kind: 'heading', level: 1, text: joined(say.told('title')) },
    ...(signedOff ? [] : [say.text('draft.statement', {}, 'statement')]),
  ]
  if (issue.replaces) {
    blocks.push(
      say.text('amendment.statement', { ...issue.replaces, version: issue.replaces.version }, 'statement'),
    )
  }
  const make = [item.maker, item.model].filter(Boolean).join(', ')
  blocks.push({
    kind: 'facts',
    rows: [
      ...row(
        say,
        'number',
        number === null ? say.line('number.none') : say.line('number.version', { number, version }),
      ),
      ...row(
        say,
        'laboratory',
        laboratory.name || say.line('not-known'),
        ...laboratory.address,
        ...country(say, laboratory.country),
      ),
      ...row(say, 'accreditation', laboratory.accreditation ?? say.line('accreditation.none')),
      ...(customer
        ? row(say, 'customer', customer.name, ...customer.address)
        : row(say, 'customer', say.line('customer.none'))),
      ...(matter.order ? row(say, 'order', matter.order) : []),
      ...row(say, 'item', itemWords(say, matter), ...(item.name ? [item.name] : [])),
      ...row(say, 'maker', make || say.line('not-known')),
      ...row(say, 'serial', item.serial || say.line('not-known')),
      ...row(say, 'received', matter.received ?? say.line('not-recorded')),
      ...row(say, 'received.condition', ...matter.condition),
      ...row(
        say,
        'performed',
        matter.from === matter.to
          ? matter.from
          : say.line('performed.span', { from: matter.from, to: matter.to }),
      ),
      ...row(say, 'place', say.line('place.permanent')),
      ...(laboratory.procedure ? row(say, 'procedure', laboratory.procedure) : []),
      ...row(say, 'issued', signedOff ? utcDay(signedOff.utcUs) : say.line('issued.none')),
      ...row(say, 'calibrated-by', matter.calibratedBy),
      ...row(say, 'authorised-by', signedOff ? signedOff.who : say.line('authorised-by.none')),
    ],
  })
  return blocks
}

/** Each link of the chain to the SI with who accredits it; a link that lacks something says what. */
export function traceabilityBlocks(say: Speaker, { links }: CertificateMatter): Block[] {
  const missing = say.line('link.missing')
  const rows = links.map((link): Cell[] => {
    const lack = lackOf(link)
    const certificate = [link.certificate ?? missing, ...(link.date ? [link.date] : [])].join(', ')
    const issued = `${link.laboratory ?? missing} (${link.accreditation ?? missing})`
    const checked = link.checked === null ? null : say.line('link.checked', { date: link.checked })
    return [
      say.line(`use.${link.use}`),
      [link.name, link.serial].filter(Boolean).join(', '),
      checked !== null && link.certificate === null ? checked : certificate,
      checked !== null && lack.length === 0 && link.laboratory === null ? '' : issued,
    ]
  })
  return [
    { kind: 'heading', level: 2, text: joined(say.told('traceability')) },
    say.text(missingLinks(links).length === 0 ? 'traceability.whole' : 'traceability.gaps'),
    {
      kind: 'table',
      caption: '',
      columns: [
        { head: say.line('link.use'), align: 'left' },
        { head: say.line('link.name'), align: 'left' },
        { head: say.line('link.certificate'), align: 'left' },
        { head: say.line('link.issued'), align: 'left' },
      ],
      rows,
    },
  ]
}

const STATEMENTS = [
  'deviations',
  'externalProviders',
  'adjustment',
  'opinions',
  'customerSupplied',
] as const satisfies readonly (keyof SignerStatements)[]

/** What the signer answered, what U means, remarks, the end. */
export function endBlocks(say: Speaker, matter: CertificateMatter, remarks: readonly string[]): Block[] {
  const { issue, coverageProbability } = matter
  const { signedOff, number, version } = issue
  const statements = signedOff?.statements
  const blocks: Block[] = [
    { kind: 'heading', level: 2, text: joined(say.told('statements')) },
    say.text('uncertainty', { percent: percentOf(coverageProbability) }),
  ]
  if (statements) {
    blocks.push({
      kind: 'facts',
      rows: STATEMENTS.map((key) => ({
        label: say.line(`statement.${key}`),
        cells: [statements[key] ?? say.line(key === 'adjustment' ? 'statement.as-found' : 'statement.none')],
      })),
    })
  }
  if (remarks.length > 0) {
    blocks.push({ kind: 'text', text: `${say.line('remarks')}:` }, { kind: 'list', items: remarks })
  }
  blocks.push(say.text('items-only', {}, 'small'), say.text('reproduction', {}, 'small'))
  if (signedOff?.electronic)
    blocks.push({ kind: 'signature', text: say.line('signature.box', { who: signedOff.who }) })
  blocks.push(
    number === null ? say.text('end.draft', {}, 'small') : say.text('end', { number, version }, 'small'),
  )
  return blocks
}

/** What stands on every page: laboratory, title, number and version. */
const runningLine = (say: Speaker, matter: CertificateMatter): string =>
  [
    matter.laboratory.name,
    `${say.line(matter.issue.signedOff ? 'title' : 'title.draft')} ${certificateName(matter)}`,
  ].join(' · ')

/** A certificate as paper and page print it. */
export function printableCertificate(
  { matter, languages, decimalSign, numbers, blocks }: Certificate,
  say: Speaker,
): Printable {
  const { issue, laboratory, program, to } = matter
  const { signedOff } = issue
  return {
    numbers,
    decimalSign,
    blocks,
    running: runningLine(say, matter),
    language: first(languages),
    status: signedOff ? 'signed' : 'draft',
    logo: laboratory.logo,
    author: laboratory.name,
    subject: certificateName(matter),
    creator: `${program.name} ${program.version}`,
    date: signedOff ? utcDay(signedOff.utcUs) : to,
    draftWord: first(say.told('draft')).text,
    footer: signedOff ? say.line('footer.authorised', { who: signedOff.who }) : say.line('footer.draft'),
    pageWords: (page, pages) => say.line('page', { page, pages }),
  }
}
