import { createHash } from 'node:crypto'
import { existsSync } from 'node:fs'
import { mkdir, readFile, rm, writeFile } from 'node:fs/promises'
import path from 'node:path'
import { itemCsv } from '../../app/report/certificate/item-csv.ts'
import { StationError } from '../station/station-error.ts'
import { renameWhole } from '../store/rename-whole.ts'
import type { SessionFile } from '../store/session-file.ts'
import type { StationStore } from '../store/station-store.ts'
import {
  certificatePdf,
  certificatesOf,
  certificateXml,
  type ItemCertificate,
} from '../study/report/certificates.ts'
import { proveSession } from '../study/report/prove.ts'
import { askStamp } from '../study/signing/time-stamp.ts'
import { issuedFile, issuedFolder } from './issue-certificates.ts'
import { OrderDesk } from './orders/order-desk.ts'

const refused = (words: string, session: string) => new StationError('refused', words, { session })

const folderName = (customer: string) => customer.replace(/[^\p{L}\p{N}._-]+/gu, '-')

/** What one customer gets. */
interface Parcel {
  readonly customer: string
  readonly address: readonly string[]
  readonly items: ItemCertificate[]
}

function parcelsOf(items: readonly ItemCertificate[], session: string): Parcel[] {
  const parcels = new Map<string, Parcel>()
  for (const item of items) {
    const { customer, issue } = item.certificate.matter
    if (!issue.signedOff || issue.number === null)
      throw refused('The report of this session is a draft. Sign it off first, then deliver.', session)
    const name = customer?.name ?? 'the laboratory itself'
    const address = customer?.address ?? ['the laboratory itself']
    if (address.length === 0)
      throw refused(
        `The customer ${name} has no address. Enter it with the customer, take it into the session, then deliver.`,
        session,
      )
    const parcel = parcels.get(name) ?? { customer: name, address, items: [] }
    parcel.items.push(item)
    parcels.set(name, parcel)
  }
  return [...parcels.values()]
}

/**
 * Asks again for the stamps that were not to be had at the sign-off: a token over the whole file, beside it. Returns how many
 * still wait.
 */
async function stampWaiting(store: StationStore, session: string, nowUtcUs: number): Promise<number> {
  const url = store.settings()?.stampUrl ?? null
  let left = 0
  for (const { file } of store.waitingStamps().filter((waiting) => waiting.session === session)) {
    const place = path.join(issuedFolder(store.folder, session), file)
    const token =
      url !== null && existsSync(place)
        ? await askStamp(url, await readFile(place), nowUtcUs).catch(() => null)
        : null
    if (token === null) left++
    else {
      await writeFile(`${place}.tsr`, token)
      store.stampArrived(session, file)
    }
  }
  return left
}

const sumLine = (name: string, data: Uint8Array | string) =>
  `${createHash('sha256').update(data).digest('hex')}  ${name}\n`

/** The covering list of a parcel: for whom, which items, which certificate each, and what it replaces. */
function coveringList({ customer, address, items }: Parcel, names: readonly string[]): string {
  const rows = items.map(({ certificate: { matter } }) => {
    const { issue, item } = matter
    const replaces = issue.replaces
      ? `; replaces version ${issue.replaces.version} of ${issue.replaces.date}, which is withdrawn: return or destroy it`
      : ''
    return `- ${item.name}, serial number ${item.serial || 'not known'}: certificate ${issue.number}, version ${issue.version}${replaces}`
  })
  return `${[customer, ...address].join('\n')}\n\nCertificates delivered:\n${rows.join('\n')}\n\nFiles (checksums in SHA256SUMS):\n${names.map((n) => `- ${n}`).join('\n')}\n`
}

/**
 * Writes what each customer of a session gets into a folder of its own: PDF, XML and table of each item, time stamps that came
 * later, checksums and a covering list. A customer's folder appears whole or not at all. The ledger keeps what went to whom, and
 * the items of orders move on. Returns lines that say what was done. Throws StationError 'refused' for a draft or a customer
 * without an address.
 */
export async function deliver(
  store: StationStore,
  session: SessionFile,
  out: string,
  who: string,
  nowUtcUs: number,
): Promise<string[]> {
  const { id } = session.info
  const { analysis } = proveSession(session, null)
  const parcels = parcelsOf(certificatesOf(analysis), id)
  const left = await stampWaiting(store, id, nowUtcUs)
  const paper = store.settings()?.paper ?? 'A4'
  const lines: string[] = []
  for (const parcel of parcels) {
    const target = path.join(out, folderName(parcel.customer))
    const part = `${target}.part`
    await rm(part, { recursive: true, force: true })
    await mkdir(part, { recursive: true })
    const files: [string, Uint8Array | string][] = []
    for (const item of parcel.items) {
      const pdf =
        (await issuedFile(store.folder, id, `${item.file}.pdf`)) ?? (await certificatePdf(item, paper))
      files.push([`${item.file}.pdf`, pdf])
      const xml =
        (await issuedFile(store.folder, id, `${item.file}.xml`)) ?? certificateXml(item, analysis, pdf)
      if (xml !== null) files.push([`${item.file}.xml`, xml])
      files.push([`${item.file}.csv`, itemCsv(item.certificate, item.result)])
      for (const ending of ['pdf', 'xml']) {
        const stamp = await issuedFile(store.folder, id, `${item.file}.${ending}.tsr`)
        if (stamp) files.push([`${item.file}.${ending}.tsr`, stamp])
      }
    }
    const names = files.map(([name]) => name)
    files.push(['SHA256SUMS', files.map(([name, data]) => sumLine(name, data)).join('')])
    files.push(['covering-list.txt', coveringList(parcel, names)])
    for (const [name, data] of files) await writeFile(path.join(part, name), data)
    await rm(target, { recursive: true, force: true })
    renameWhole(part, target)
    const numbers = parcel.items.map(({ certificate }) => certificate.matter.issue.number).join(', ')
    store.appendLedger({
      who,
      what: 'certificates delivered',
      subject: id,
      old: null,
      new: `${numbers} to ${parcel.customer}`,
      why: '',
    })
    lines.push(`${parcel.customer}: ${numbers} in ${target}`)
  }
  new OrderDesk(store).moveOfSession(id, 'delivered', { who, why: 'certificates delivered' })
  if (left > 0)
    lines.push(`${left} of the files still wait for a time stamp: the stamping service does not answer.`)
  return lines
}
