import type { Spoken } from '../../app/report/certificate/build.ts'
import { printableCertificate } from '../../app/report/certificate/head.ts'
import {
  fixedPointCertificate,
  type RegisterWork,
  resistorCertificate,
} from '../../app/report/certificate/register-certificate.ts'
import { printHtml } from '../../app/report/html.ts'
import { StationError } from '../station/station-error.ts'
import type { StationStore } from '../store/station-store.ts'
import { certificatePdf } from './report/certificates.ts'
import { embeddedFonts } from './report/fonts.ts'

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
    throw new StationError(
      'refused',
      'A certificate names its laboratory. Enter it under Register, Station, first.',
    )
  }
  const own = store.records.one(kind === 'resistor' ? 'resistor' : 'thermometer', id)
  return {
    laboratory,
    decimalSign: store.settings()?.decimalSign ?? '.',
    program,
    who: store.ledger({ subject: id, most: 1 })[0]?.who ?? '',
    thermometers: own && 'wtpHistory' in own ? [own] : [],
    resistors: kind === 'resistor' ? store.records.all('resistor') : [],
    cells: store.records.all('cell'),
  }
}

function spokenOf(work: RegisterWork, { kind, id, entry }: WorkOf): Spoken {
  return kind === 'resistor' ? resistorCertificate(work, id, entry) : fixedPointCertificate(work, id, entry)
}

/** The certificate as a page, with its fonts. */
export function registerPage(work: RegisterWork, of: WorkOf): string {
  const { certificate, say } = spokenOf(work, of)
  return printHtml(printableCertificate(certificate, say), { fontCss: embeddedFonts() })
}

/** The certificate as a PDF. */
export const registerPdf = (work: RegisterWork, of: WorkOf): Promise<Uint8Array> =>
  certificatePdf(spokenOf(work, of), 'A4')
