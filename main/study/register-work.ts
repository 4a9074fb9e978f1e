import { said } from '../../app/messages/said.ts'
import { certificateFile } from '../../app/report/certificate/certificate.ts'
import { printableCertificate } from '../../app/report/certificate/head.ts'
import {
  fixedPointCertificate,
  type RegisterCertificate,
  type RegisterWork,
  resistorCertificate,
} from '../../app/report/certificate/register-certificate.ts'
import { printHtml } from '../../app/report/html.ts'
import { missingLinks } from '../../app/report/traceability.ts'
import { StationError } from '../station/station-error.ts'
import type { StationStore } from '../store/station-store.ts'
import { certificatePdf } from './report/certificates.ts'
import { embeddedFonts } from './report/fonts.ts'
import type { Paper } from './report/pdf.ts'

/** Work that stands in the register, not in a session. */
export interface WorkOf {
  readonly kind: 'fixed-points' | 'resistor'
  /** Register id of the thermometer or resistor. */
  readonly id: string
  /** Id of the calibration or comparison; the newest where left out. */
  readonly entry?: string | undefined
}

/** What of the register and the station's settings a certificate of such work needs: plain data for a thread. */
export function registerWork(
  store: StationStore,
  { kind, id }: WorkOf,
  program: RegisterWork['program'],
): RegisterWork {
  const laboratory = store.settings()?.laboratory
  if (!laboratory) {
    throw new StationError('refused', said('laboratory-not-entered', {}))
  }
  const own = store.records.one(kind === 'resistor' ? 'resistor' : 'thermometer', id)
  const owner = own && 'owner' in own ? own.owner : ''
  return {
    laboratory,
    decimalSign: store.settings()?.decimalSign ?? '.',
    program,
    who: store.ledger({ subject: id, most: 1 })[0]?.who ?? '',
    thermometers: own && 'wtpHistory' in own ? [own] : [],
    resistors: store.records.all('resistor'),
    cells: store.records.all('cell'),
    instruments: store.records.all('instrument'),
    customer: store.records.all('customer').find(({ name }) => owner !== '' && name === owner) ?? null,
  }
}

function spokenOf(work: RegisterWork, { kind, id, entry }: WorkOf): RegisterCertificate {
  return kind === 'resistor' ? resistorCertificate(work, id, entry) : fixedPointCertificate(work, id, entry)
}

/** The certificate as a page, with its fonts. */
export function registerPage(work: RegisterWork, of: WorkOf): string {
  const { certificate, say } = spokenOf(work, of)
  return printHtml(printableCertificate(certificate, say), { fontCss: embeddedFonts() })
}

/** The certificate as a PDF. */
export const registerPdf = (work: RegisterWork, of: WorkOf, paper: Paper = 'A4'): Promise<Uint8Array> =>
  certificatePdf(spokenOf(work, of), paper)

/** The certificate as a Digital Calibration Certificate, with its PDF in it. */
export function registerXml(work: RegisterWork, of: WorkOf, pdf: Uint8Array | null): string {
  const made = spokenOf(work, of)
  const { matter } = made.certificate
  return made.xml({
    ...(pdf && {
      pdf: { file: `${certificateFile(matter)}.pdf`, base64: Buffer.from(pdf).toString('base64') },
    }),
    signed: matter.issue.signedOff?.electronic ?? false,
  })
}

/** Name of the certificate's files without what they end in, and gaps of its chain to the SI. */
export function registerFacts(work: RegisterWork, of: WorkOf): { file: string; gaps: string[] } {
  const { matter } = spokenOf(work, of).certificate
  return { file: certificateFile(matter), gaps: missingLinks(matter.links) }
}
