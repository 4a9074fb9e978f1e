import { buildCertificate, type Spoken } from '../../../app/report/certificate/build.ts'
import type { Certificate } from '../../../app/report/certificate/certificate.ts'
import { certificateFile } from '../../../app/report/certificate/certificate.ts'
import { certificateDcc } from '../../../app/report/certificate/dcc.ts'
import { printableCertificate } from '../../../app/report/certificate/head.ts'
import { printHtml } from '../../../app/report/html.ts'
import type { Analysis, ThermometerResult } from '../../../app/results/analysis.ts'
import { type Paper, printPdf } from './pdf.ts'

/** Where the certificates stand in a results folder. */
export const CERTIFICATE_FOLDER = 'certificates'

/** The certificate of one item, as content. */
export interface ItemCertificate extends Spoken {
  readonly result: ThermometerResult
  /** Name of its files without what they end in. */
  readonly file: string
}

/** The certificates of all thermometers under test of a session. */
export const certificatesOf = (analysis: Analysis): ItemCertificate[] =>
  analysis.thermometers.map((result) => {
    const spoken = buildCertificate(analysis, result)
    return { ...spoken, result, file: certificateFile(spoken.certificate.matter) }
  })

/** A certificate's PDF; with room for an electronic signature where it is signed by one. */
/** The certificate as one page of the window. */
export const certificateHtml = ({ certificate, say }: Spoken): string =>
  printHtml(printableCertificate(certificate, say))

export const certificatePdf = ({ certificate, say }: Spoken, paper: Paper): Promise<Uint8Array> =>
  printPdf(printableCertificate(certificate, say), paper, signatureOf(certificate))

/** Who signs electronically; null: nobody does. */
function signatureOf({ matter }: Certificate) {
  const { signedOff } = matter.issue
  return signedOff?.electronic
    ? { who: signedOff.who, utcUs: signedOff.utcUs, laboratory: matter.laboratory.name }
    : null
}

/** A certificate's XML with its PDF in it; null where there is nothing a digital certificate could state. */
export const certificateXml = (
  { certificate, result, say, file }: ItemCertificate,
  analysis: Analysis,
  pdf: Uint8Array | null,
): string | null =>
  certificateDcc(certificate, result, analysis, say, {
    ...(pdf && { pdf: { file: `${file}.pdf`, base64: Buffer.from(pdf).toString('base64') } }),
    signed: certificate.matter.issue.signedOff?.electronic ?? false,
  })
