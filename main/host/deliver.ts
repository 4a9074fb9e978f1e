import { createHash } from 'node:crypto'
import { existsSync } from 'node:fs'
import { mkdir, readFile, rm, writeFile } from 'node:fs/promises'
import path from 'node:path'
import { last } from '../../app/base/lists.ts'
import type { Parcel } from '../../app/contract/studies.ts'
import { type Said, said } from '../../app/messages/said.ts'
import { StationError } from '../station/station-error.ts'
import { renameWhole } from '../store/rename-whole.ts'
import type { StationStore } from '../store/station-store.ts'
import type { Act } from '../study/checks.ts'
import type { Paper } from '../study/report/pdf.ts'
import type { ReportsOf } from '../study/reports.ts'
import { SigningError } from '../study/signing/signing-error.ts'
import { issuedFile, issuedFolder } from './issue-certificates.ts'
import { type MailParcel, ParcelPost } from './mail-parcel.ts'
import { OrderDesk } from './orders/order-desk.ts'

const refused = (why: Said, session: string) => new StationError('refused', why, { session })

const folderName = (customer: string) => customer.replace(/[^\p{L}\p{N}._-]+/gu, '-')
const OWN = 'the laboratory itself'

/** What is delivered, and how. */
export interface Delivery {
  readonly session: string
  /** Only to this customer; all of the session unless given. */
  readonly customer?: string | undefined
  /** Folder that a folder for each customer is written into. */
  readonly out: string
  /** Also sent by mail, with the files attached. */
  readonly mail: boolean
  readonly act: Act
  readonly nowUtcUs: number
}

/** What a delivery works with: what prints certificates, and where records are kept. */
export interface DeliveryGround {
  readonly store: StationStore
  readonly ask: Pick<ReportsOf, 'parcels' | 'certificatePdf' | 'certificateXml' | 'certificateCsv'>
  readonly paper: Paper
}

/**
 * Asks again for the stamps that were not to be had at the sign-off: a token over the whole file, beside it. Returns how many
 * still wait.
 */
async function stampWaiting(store: StationStore, session: string, nowUtcUs: number): Promise<number> {
  const url = store.settings()?.stampUrl ?? null
  const waiting = store.waitingStamps().filter((one) => one.session === session)
  if (waiting.length === 0) return 0
  const { askStamp } = await import('../study/signing/time-stamp.ts')
  let left = 0
  for (const { file } of waiting) {
    const place = path.join(issuedFolder(store.folder, session), file)
    let token: Uint8Array | null = null
    try {
      if (url !== null && existsSync(place)) token = await askStamp(url, await readFile(place), nowUtcUs)
    } catch (fault) {
      if (!(fault instanceof SigningError)) throw fault
    }
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
  const rows = items.map(({ name, serial, number, version, replaces }) => {
    const recalled = replaces
      ? `; replaces version ${replaces.version} of ${replaces.date}, which is withdrawn: return or destroy it`
      : ''
    return `- ${name}, serial number ${serial || 'not known'}: certificate ${number}, version ${version}${recalled}`
  })
  return `${[customer ?? OWN, ...address].join('\n')}\n\nCertificates delivered:\n${rows.join('\n')}\n\nFiles (checksums in SHA256SUMS):\n${names.map((n) => `- ${n}`).join('\n')}\n`
}

/** The parcels that go out; throws where one of them cannot. */
function ready(parcels: readonly Parcel[], { session, customer }: Delivery): Parcel[] {
  const wanted = parcels.filter((parcel) => customer === undefined || parcel.customer === customer)
  if (wanted.length === 0)
    throw refused(
      customer === undefined
        ? said('nothing-to-deliver', {})
        : said('nothing-for-customer', {
            customer,
            others: parcels.map((p) => p.customer ?? OWN).join(', '),
          }),
      session,
    )
  for (const { items, customer: name, address } of wanted) {
    if (items.some(({ signed, number }) => !signed || number === null))
      throw refused(said('deliver-draft', {}), session)
    if (name !== null && address.length === 0)
      throw refused(said('customer-without-address', { name }), session)
  }
  return wanted
}

/** Every file of a parcel: as it was signed, else as it is printed now. */
async function filesOf(
  { store, ask, paper }: DeliveryGround,
  session: string,
  parcel: Parcel,
): Promise<[string, Uint8Array | string][]> {
  const files: [string, Uint8Array | string][] = []
  for (const { thermometer, file } of parcel.items) {
    const issued = (ending: string) => issuedFile(store.folder, session, `${file}.${ending}`)
    const pdf = (await issued('pdf')) ?? (await ask.certificatePdf(session, thermometer, paper))
    files.push([`${file}.pdf`, pdf])
    const xml = (await issued('xml')) ?? (await ask.certificateXml(session, thermometer, pdf))
    if (xml !== null) files.push([`${file}.xml`, xml])
    files.push([`${file}.csv`, await ask.certificateCsv(session, thermometer)])
    for (const ending of ['pdf.tsr', 'xml.tsr']) {
      const stamp = await issued(ending)
      if (stamp) files.push([`${file}.${ending}`, stamp])
    }
  }
  const names = files.map(([name]) => name)
  return [
    ...files,
    ['SHA256SUMS', files.map(([name, data]) => sumLine(name, data)).join('')],
    ['covering-list.txt', coveringList(parcel, names)],
  ]
}

/** Writes a folder whole, or not at all. */
async function writeFolder(target: string, files: readonly [string, Uint8Array | string][]): Promise<void> {
  const part = `${target}.part`
  await rm(part, { recursive: true, force: true })
  await mkdir(part, { recursive: true })
  for (const [name, data] of files) await writeFile(path.join(part, name), data)
  await rm(target, { recursive: true, force: true })
  renameWhole(part, target)
}

/**
 * Writes what each customer of a session gets into a folder of its own: PDF, XML and table of each item, time stamps that came
 * later, checksums and a covering list; and sends it by mail where that is asked for. A customer's folder appears whole or not at
 * all. The ledger keeps what went to whom, and the customer's items of orders move on. Returns lines that say what was done.
 * Throws StationError 'refused' for a draft, a customer without an address, and mail that is not set up; nothing is written then.
 */
export async function deliver(ground: DeliveryGround, delivery: Delivery): Promise<string[]> {
  const { store, ask } = ground
  const { session, out, act, nowUtcUs } = delivery
  const parcels = ready(await ask.parcels(session), delivery)
  const post = delivery.mail ? new ParcelPost(store, parcels) : null
  const left = await stampWaiting(store, session, nowUtcUs)
  const orders = new OrderDesk(store)
  const lines: string[] = []
  for (const parcel of parcels) {
    const customer = parcel.customer ?? OWN
    const numbers = parcel.items.map(({ number }) => number).join(', ')
    const files = await filesOf(ground, session, parcel)
    const target = path.join(out, folderName(customer))
    await writeFolder(target, files)
    const mail: MailParcel = { parcel, files, covering: String(last(files)[1]) }
    const sent = post ? await post.send(mail) : null
    if (sent?.problem !== undefined) {
      lines.push(`${customer}: ${numbers} in ${target}, not sent. ${sent.problem}`)
      continue
    }
    const way = sent ? ` by mail to ${sent.to}` : ''
    store.appendLedger({
      who: act.who,
      what: 'certificates delivered',
      subject: session,
      old: null,
      new: `${numbers} to ${customer}${way}`,
      why: act.why,
    })
    orders.moveOfSession(
      session,
      'delivered',
      act,
      parcel.items.map(({ thermometer }) => thermometer),
    )
    lines.push(`${customer}: ${numbers} in ${target}${way}`)
  }
  if (left > 0)
    lines.push(`${left} of the files still wait for a time stamp: the stamping service does not answer.`)
  return lines
}
