import { Field } from '../../parts/Field.tsx'
import { Tick } from '../../parts/Tick.tsx'

export interface CertificateTexts {
  date: string
  /** Day of the next. */
  due: string
  certificate: string
  laboratory: string
}

interface Props {
  texts: CertificateTexts
  onText: (key: keyof CertificateTexts, text: string) => void
  /** Given where the result may also stand beside the calibration in force without becoming one. */
  asCalibration?: boolean
  onAsCalibration?: (as: boolean) => void
}

/** Date, number and laboratory of what is recorded. */
export function CertificateFields({ texts, onText, asCalibration, onAsCalibration }: Props) {
  return (
    <div className="fields">
      {onAsCalibration && (
        <Tick on={asCalibration ?? false} onChange={onAsCalibration}>
          A calibration from that day on
        </Tick>
      )}
      <Field
        label="Date"
        about="Such as 2026-02-10."
        value={texts.date}
        onChange={(text) => onText('date', text)}
      />
      <Field
        label="Recalibration due"
        about="Such as 2026-02-10."
        value={texts.due}
        onChange={(text) => onText('due', text)}
      />
      <Field
        label="Certificate number"
        value={texts.certificate}
        onChange={(text) => onText('certificate', text)}
      />
      <Field label="Laboratory" value={texts.laboratory} onChange={(text) => onText('laboratory', text)} />
    </div>
  )
}
