import type { CertificateRow } from '../../app/contract/studies.ts'
import { Button } from '../parts/Button.tsx'
import { Choice, type Option } from '../parts/Choice.tsx'
import { Problem } from '../parts/Problem.tsx'
import { Certificates } from './Certificates.tsx'

interface Props {
  html: string | undefined
  theme: 'light' | 'dark'
  problem: string | undefined
  signedOffBy: string | null
  working: boolean
  /** A certificate was saved from here. */
  saved: boolean
  /** The preview is of before the last change; another is being written. */
  isOld: boolean
  onPdf: () => void
  /** The certificate of each item. */
  certificates: readonly CertificateRow[]
  /** What the preview can show, and what it shows. */
  pages: readonly Option<string>[]
  page: string
  onPage: (page: string) => void
  onCertificate: (row: CertificateRow, kind: 'pdf' | 'xml') => void
  onSign: () => void
  /** Given once the report is signed. */
  onTakeOver: (() => void) | undefined
  onClose: (() => void) | undefined
}

/** The report in the theme of the window, whatever the system's is: only this view of it, never what is saved. */
export const themed = (html: string, theme: 'light' | 'dark'): string =>
  html
    .replaceAll('(prefers-color-scheme:dark)', theme === 'dark' ? 'screen' : 'not all')
    .replace('name="color-scheme" content="light dark"', `name="color-scheme" content="${theme}"`)

/** The report as it will be printed. Its frame may run nothing and reach nothing. */
export function Report({
  html,
  theme,
  problem,
  signedOffBy,
  working,
  saved,
  isOld,
  onPdf,
  certificates,
  pages,
  page,
  onPage,
  onCertificate,
  onSign,
  onTakeOver,
  onClose,
}: Props) {
  return (
    <section
      className="report stack"
      aria-label="Report"
      data-signed={signedOffBy !== null}
      data-saved={saved}
    >
      <div className="row row-apart">
        <div>
          <h2>Calibration record and certificates</h2>
          <p className="faint">
            {signedOffBy ? `Signed off by ${signedOffBy}.` : 'A draft until it is signed off.'}
          </p>
        </div>
        <div className="row">
          <Button onPress={onPdf} disabled={working}>
            {working ? 'Making the file' : 'Save the record as PDF'}
          </Button>
          <Button right="authorise" look="main" onPress={onSign} disabled={signedOffBy !== null}>
            Sign off
          </Button>
          {onTakeOver && (
            <Button right="keep-records" onPress={onTakeOver}>
              Enter as calibration
            </Button>
          )}
          {onClose && (
            <Button look="quiet" onPress={onClose}>
              Close the report
            </Button>
          )}
        </div>
      </div>
      <Certificates rows={certificates} working={working} onSave={onCertificate} />
      {pages.length > 1 && <Choice label="Page shown" value={page} options={pages} onChange={onPage} />}
      <Problem words={problem} />
      {html === undefined ? (
        <p className="faint">Writing the report</p>
      ) : (
        <>
          {isOld && (
            <p className="working" role="status">
              Writing the report anew
            </p>
          )}
          <iframe
            title="Report preview"
            className={isOld ? 'is-old' : ''}
            sandbox=""
            srcDoc={themed(html, theme)}
          />
        </>
      )}
    </section>
  )
}
