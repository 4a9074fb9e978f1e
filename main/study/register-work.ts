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
import { certificatePdf } from './report/certificates.ts'
import { embeddedFonts } from './report/fonts.ts'
import type { Paper } from './report/pdf.ts'
import type { WorkOf } from './work-of.ts'

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
