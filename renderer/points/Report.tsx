import { Button } from '../parts/Button.tsx'
import { Problem } from '../parts/Problem.tsx'

interface Props {
  html: string | undefined
  problem: string | undefined
  signedOffBy: string | null
  working: boolean
  /** The preview is of before the last change; another is being written. */
  isOld: boolean
  onPdf: () => void
  onXml: () => void
  onSign: () => void
  /** Given once the report is signed. */
  onTakeOver: (() => void) | undefined
  onClose: () => void
}

/** The report as it will be printed. Its frame may run nothing and reach nothing. */
export function Report({
  html,
  problem,
  signedOffBy,
  working,
  isOld,
  onPdf,
  onXml,
  onSign,
  onTakeOver,
  onClose,
}: Props) {
  return (
    <section className="report stack" aria-label="Report">
      <div className="row row-apart">
        <div>
          <h2>Report</h2>
          <p className="faint">
            {signedOffBy ? `Signed off by ${signedOffBy}.` : 'A draft until it is signed off.'}
          </p>
        </div>
        <div className="row">
          <Button onPress={onPdf} disabled={working}>
            {working ? 'Making the PDF' : 'Save as PDF'}
          </Button>
          <Button onPress={onXml}>Save as XML</Button>
          <Button look="main" onPress={onSign} disabled={signedOffBy !== null}>
            Sign off
          </Button>
          {onTakeOver && <Button onPress={onTakeOver}>Take into the register</Button>}
          <Button look="quiet" onPress={onClose}>
            Close the report
          </Button>
        </div>
      </div>
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
          <iframe title="Report preview" className={isOld ? 'is-old' : ''} sandbox="" srcDoc={html} />
        </>
      )}
    </section>
  )
}
