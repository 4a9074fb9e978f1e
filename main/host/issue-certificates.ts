import { existsSync } from 'node:fs'
import { copyFile, readFile } from 'node:fs/promises'
import path from 'node:path'
import { last } from '../../app/base/lists.ts'
import { counted } from '../../app/base/plural.ts'
import { type Said, said } from '../../app/messages/said.ts'
import type { SignerStatements } from '../../app/records/certificate.ts'
import { StationError } from '../station/station-error.ts'
import { PRIVATE_FILE, privateFolder } from '../store/private.ts'
import { writeWhole } from '../store/write-whole.ts'
import type { Paper } from '../study/report/pdf.ts'
import type { Stamp } from '../study/signing/cms.ts'
import { HEAD_FILE, headText } from '../study/signing/head-text.ts'
import type { Signing } from '../study/signing/issue.ts'
import type { Services } from './services.ts'
import { signOffHolds } from './sign-off-holds.ts'

/** Where in a station's data folder the certificates of a session stand as they were signed. */
export const issuedFolder = (folder: string, session: string): string =>
  path.join(folder, 'certificates', session)

/** A certificate's file as it was signed; null where it was not signed electronically. */
export async function issuedFile(folder: string, session: string, name: string): Promise<Uint8Array | null> {
  const file = path.join(issuedFolder(folder, session), name)
  return existsSync(file) ? readFile(file) : null
}

interface SignOff {
  readonly session: string
  readonly who: string
  readonly remark: string
  readonly statements: SignerStatements
  readonly gapsKnown: boolean
  readonly findingsKnown: boolean
}

const refused = (why: Said, session: string) => new StationError('refused', why, { session })

/**
 * Signs a session's report off: gives each item's certificate its number, keeps the signer's answers and the signed numbers in
 * the session, and, with a key, signs the certificates. Returns what was done, in words. Throws StationError 'refused' where
 * there is nothing to sign or a gap was not seen; nothing is written then.
 */
export async function signOffSession(
  services: Services,
  { session, who, remark, statements, gapsKnown, findingsKnown }: SignOff,
  signing: Signing | null,
): Promise<string> {
  const { reports, store, sessions, station } = services
  const { refusal, gaps, findings } = await signOffHolds(services, session)
  if (refusal !== null) throw refused(refusal, session)
  if (gaps.length > 0 && !gapsKnown) {
    throw refused(said('chain-has-gaps', { gaps: gaps.join(' ') }), session)
  }
  if (findings.length > 0 && !findingsKnown) {
    throw refused(said('findings-open', { findings: findings.join(' ') }), session)
  }
  // A stamping service whose stamps cannot be used is found out before anything is written.
  await signing?.stamp?.(new TextEncoder().encode(session))
  const rows = await reports.ask().certificates(session)
  const numbers = store.giveCertificateNumbers(
    session,
    rows.map(({ thermometer }) => thermometer),
    who,
  )
  // The signed numbers stay in the file, so that a later proof knows what was signed.
  const report = await reports.ask().signed(session)
  sessions.write(session, (file) =>
    file.signOff({
      who,
      remark,
      facts: { report, statements, certificates: numbers, electronic: signing !== null },
    }),
  )
  store.appendLedger({
    who,
    what: 'report signed off',
    subject: session,
    old: null,
    new: Object.values(numbers).join(', '),
    why: remark,
  })
  const waiting = signing ? await issue(services, session, signing) : 0
  if (services.orders.moveOfSession(session, 'signed', { who, why: 'report signed off' }) > 0)
    station.touched('orders')
  station.touched('points')
  station.touched('sessions')
  const stamps =
    waiting === 0
      ? ''
      : ` ${counted(waiting, 'file')} bear no time stamp yet: the service did not answer, and is asked again when they are delivered.`
  return (
    `Signed off by ${who}. The report names the head of the session's chain; a later change makes a new version. ` +
    `Certificates: ${Object.values(numbers).join(', ')}${signing ? ', signed electronically' : ''}.${stamps}`
  )
}

/** Signs every certificate of a session and keeps the files. Returns how many wait for a time stamp. */
async function issue(services: Services, session: string, signing: Signing): Promise<number> {
  const { reports, store, clock } = services
  const { paper } = services.settings()
  // Loaded by those who sign: it takes megabytes in the process that measures.
  const { issueFiles, oncePastRefusals } = await import('../study/signing/issue.ts')
  const past = oncePastRefusals(signing)
  const folder = issuedFolder(store.folder, session)
  privateFolder(folder)
  let waiting = 0
  for (const { thermometer, file } of await reports.ask().certificates(session)) {
    const printing = {
      file,
      pdf: () => reports.ask().certificatePdf(session, thermometer, paper),
      xml: (pdf: Uint8Array) => reports.ask().certificateXml(session, thermometer, pdf),
    }
    for (const { name, data, waits } of await issueFiles(printing, past, clock.now().utcUs)) {
      await writeWhole(path.join(folder, name), (append) => append(data), PRIVATE_FILE)
      if (!waits) continue
      store.waitForStamp(session, name)
      waiting++
    }
  }
  return waiting + (await signRecord(services, session, past))
}

/** Signature of results.json, and of the head of the session's chain. */
const RECORD = { json: 'results.json', head: HEAD_FILE } as const

/**
 * Signs the record beside the certificates: results.json as it is written, and the head of the session's chain. Returns how many
 * wait for a time stamp.
 */
async function signRecord(services: Services, session: string, { key, stamp }: Signing): Promise<number> {
  const { reports, store, sessions, clock } = services
  const folder = issuedFolder(store.folder, session)
  const { signCms } = await import('../study/signing/cms.ts')
  const texts = {
    [RECORD.json]: await reports.ask().resultsJson(session),
    [RECORD.head]: headText(session, last(sessions.read(session).signOffs)),
  }
  let waiting = 0
  for (const [name, text] of Object.entries(texts)) {
    const data = new TextEncoder().encode(text)
    let waits = false
    const asked: Stamp | undefined =
      stamp &&
      (async (signature) => {
        const token = await stamp(signature)
        waits = token === null
        return token
      })
    const cms = await signCms(data, key, { utcUs: clock.now().utcUs, ...(asked && { stamp: asked }) })
    await writeWhole(path.join(folder, name), (append) => append(data), PRIVATE_FILE)
    await writeWhole(path.join(folder, `${name}.p7s`), (append) => append(cms), PRIVATE_FILE)
    if (!waits) continue
    store.waitForStamp(session, name)
    waiting++
  }
  return waiting
}

/**
 * Puts the signatures of the record beside a results folder's files: that of results.json where it is still what was signed.
 * Returns the files written.
 */
export async function copySignatures(folder: string, session: string, out: string): Promise<string[]> {
  const from = issuedFolder(folder, session)
  if (!existsSync(path.join(from, RECORD.head))) return []
  const [signed, written] = await Promise.all(
    [from, out].map((place) => readFile(path.join(place, RECORD.json))),
  )
  const names = [
    RECORD.head,
    `${RECORD.head}.p7s`,
    `${RECORD.head}.tsr`,
    ...(signed!.equals(written!) ? [`${RECORD.json}.p7s`, `${RECORD.json}.tsr`] : []),
  ].filter((name) => existsSync(path.join(from, name)))
  for (const name of names) await copyFile(path.join(from, name), path.join(out, name))
  return names.map((name) => path.join(out, name))
}

/** A certificate's file for the window: as it was signed, or as it is printed now; null where there is no digital one. */
export async function certificateFile(
  { reports, store }: Services,
  { session, thermometer, paper }: { session: string; thermometer: string; paper: Paper },
  kind: 'pdf' | 'xml',
  signal?: AbortSignal,
): Promise<Uint8Array<ArrayBuffer> | null> {
  const ask = reports.ask(signal)
  const row = (await ask.certificates(session)).find((one) => one.thermometer === thermometer)
  const issued = row && (await issuedFile(store.folder, session, `${row.file}.${kind}`))
  if (issued) return new Uint8Array(issued)
  const pdf = await ask.certificatePdf(session, thermometer, paper)
  if (kind === 'pdf') return pdf
  const xml = await ask.certificateXml(session, thermometer, pdf)
  return xml === null ? null : new Uint8Array(new TextEncoder().encode(xml))
}
