import { existsSync } from 'node:fs'
import { readFile } from 'node:fs/promises'
import path from 'node:path'
import { needed } from '../../app/base/lists.ts'
import { counted } from '../../app/base/plural.ts'
import { type Said, said } from '../../app/messages/said.ts'
import type { SignerStatements } from '../../app/records/certificate.ts'
import type { SignedWork } from '../../app/records/register.ts'
import { fileNumber } from '../../app/report/certificate/certificate.ts'
import packageJson from '../../package.json' with { type: 'json' }
import { StationError } from '../station/station-error.ts'
import { PRIVATE_FILE, privateFolder } from '../store/private.ts'
import type { StationStore } from '../store/station-store.ts'
import { writeWhole } from '../store/write-whole.ts'
import type { Act } from '../study/checks.ts'
import type { Paper } from '../study/report/pdf.ts'
import type { Signing } from '../study/signing/issue.ts'
import { registerWork, type WorkOf } from '../study/work-of.ts'
import type { Services } from './services.ts'

/** Work in the register whose certificate is meant: which calibration or comparison. */
export type SignableWork = WorkOf & { readonly entry: string }

const PROGRAM = { name: 'Stillpoint', version: packageJson.version }
const refused = (why: Said) => new StationError('refused', why, {})

/** What a thread needs to print the certificate of work in the register. */
export const workFor = (store: StationStore, of: WorkOf) => registerWork(store, of, PROGRAM)

/** What prints certificates, and where records are kept. */
interface Ground extends Pick<Services, 'store' | 'reports'> {
  readonly paper: Paper
}

/** Under which its numbers and files stand, as those of a session stand under its id. */
const placeOf = ({ kind, id, entry }: SignableWork) => fileNumber(`${kind}-${id}-${entry}`)
const folderOf = (store: StationStore, of: SignableWork) =>
  path.join(store.folder, 'certificates', placeOf(of))

/** How the certificate was signed; null: it is a draft. */
export function signedWork(store: StationStore, { kind, id, entry }: SignableWork): SignedWork | null {
  const made =
    kind === 'resistor'
      ? store.records.one('resistor', id)?.comparisons
      : store.records.one('thermometer', id)?.calibrations
  return made?.find((one) => one.id === entry)?.signed ?? null
}

/** Keeps in the register that it was signed; the number becomes that of the calibration. */
function keepSigned(
  store: StationStore,
  { kind, id, entry }: SignableWork,
  signed: SignedWork,
  act: Act,
): void {
  if (kind === 'fixed-points') {
    const own = store.records.one('thermometer', id)!
    const calibrations = own.calibrations.map((c) =>
      c.id === entry ? { ...c, certificate: signed.number, signed } : c,
    )
    store.saveThermometer({ ...own, calibrations }, act.who, act.why)
    return
  }
  const own = store.records.one('resistor', id)!
  const compared = own.comparisons!.find((c) => c.id === entry)!
  store.saveResistor(
    {
      ...own,
      comparisons: own.comparisons!.map((c) => (c.id === entry ? { ...c, signed } : c)),
      calibrations: own.calibrations.map((c) =>
        c.id === compared.calibration ? { ...c, certificate: signed.number } : c,
      ),
    },
    act.who,
    act.why,
  )
}

interface Signature {
  readonly who: string
  readonly statements: SignerStatements
  readonly gapsKnown: boolean
}

/**
 * Signs the certificate of a calibration at fixed points or of a resistor's comparison: gives it its number, keeps the signer's
 * answers with the work, and, with a key, signs PDF and XML. Returns what was done, in words. Throws StationError 'refused' where
 * it is signed already or a gap of the chain was not seen, SigningError for a stamp that cannot be used; nothing is written then.
 */
export async function signRegisterWork(
  services: Ground & Pick<Services, 'clock'>,
  of: SignableWork,
  { who, statements, gapsKnown }: Signature,
  signing: Signing | null,
): Promise<string> {
  const { store, reports, clock } = services
  const before = signedWork(store, of)
  if (before) throw refused(said('certificate-signed-already', { number: before.number, who: before.who }))
  const { gaps } = await reports.ask().registerFacts(workFor(store, of), of)
  if (gaps.length > 0 && !gapsKnown) throw refused(said('chain-of-work-has-gaps', { gaps: gaps.join(' ') }))
  await signing?.stamp?.(new TextEncoder().encode(placeOf(of)))
  const given = store.giveCertificateNumbers(placeOf(of), [of.entry], who)
  const number = needed(given[of.entry], 'certificate number')
  const signed = { who, utcUs: clock.now().utcUs, number, electronic: signing !== null, statements }
  keepSigned(store, of, signed, { who, why: `certificate ${number} signed` })
  const waiting = signing ? await issue(services, of, signing) : 0
  const stamps =
    waiting === 0 ? '' : ` ${counted(waiting, 'file')} bear no time stamp: the service did not answer.`
  return `Signed by ${who} as ${number}${signing ? ', electronically' : ''}.${stamps}`
}

async function issue(
  services: Ground & Pick<Services, 'clock'>,
  of: SignableWork,
  signing: Signing,
): Promise<number> {
  const { store, reports, clock } = services
  const { issueFiles, oncePastRefusals } = await import('../study/signing/issue.ts')
  const work = workFor(store, of)
  const { file } = await reports.ask().registerFacts(work, of)
  const folder = folderOf(store, of)
  privateFolder(folder)
  const printing = {
    file,
    pdf: () => reports.ask().registerPdf(work, of, services.paper),
    xml: (pdf: Uint8Array) => reports.ask().registerXml(work, of, pdf),
  }
  let waiting = 0
  for (const { name, data, waits } of await issueFiles(
    printing,
    oncePastRefusals(signing),
    clock.now().utcUs,
  )) {
    await writeWhole(path.join(folder, name), (append) => append(data), PRIVATE_FILE)
    if (waits) waiting++
  }
  return waiting
}

/** A certificate's file: as it was signed, or as it is printed now. */
export async function registerFile(
  services: Ground,
  of: WorkOf,
  kind: 'pdf' | 'xml',
  signal?: AbortSignal,
): Promise<{ name: string; data: Uint8Array<ArrayBuffer> }> {
  const { store } = services
  const ask = services.reports.ask(signal)
  const work = workFor(store, of)
  const { file } = await ask.registerFacts(work, of)
  const { entry } = of
  const issued = entry === undefined ? '' : path.join(folderOf(store, { ...of, entry }), `${file}.${kind}`)
  const name = `${file}.${kind}`
  if (issued !== '' && existsSync(issued)) return { name, data: new Uint8Array(await readFile(issued)) }
  const pdf = await ask.registerPdf(work, of, services.paper)
  if (kind === 'pdf') return { name, data: pdf }
  return { name, data: new Uint8Array(new TextEncoder().encode(await ask.registerXml(work, of, pdf))) }
}
