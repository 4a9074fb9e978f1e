import { useMemo, useState } from 'react'
import { proposedDue } from '../../../app/checks/next-due.ts'
import { useAnswer } from '../../client/ask.ts'
import { station } from '../../client/connect.ts'
import { useRecords } from '../../client/records.ts'
import { usePage } from '../../page/page.ts'
import { CertificateFields, type CertificateTexts } from './CertificateFields.tsx'
import { Coefficients } from './Coefficients.tsx'
import { bandOf, findingsOf, noteOfSet, requestOf, resultOfSet } from './cells.model.ts'
import { checks, type SetPlateau } from './checks.store.ts'
import { GUIDES } from './guides.ts'
import { PlateauSet } from './PlateauSet.tsx'
import { RecordNow } from './Record.connect.tsx'

const isDay = (text: string) => /^\d{4}-\d{2}-\d{2}$/.test(text)

/** The plateaus put together so far, the coefficients they make, and the way into the register. */
export function PlateauSetNow({ set }: { set: readonly SetPlateau[] }) {
  const theme = usePage((state) => state.theme)
  const [subrange, setSubrange] = useState<string>()
  const settings = useAnswer(() => station.settings.get(), [])
  const lastDay =
    set
      .map(({ date }) => date)
      .toSorted()
      .at(-1) ?? ''
  const [typed, setTyped] = useState<Partial<CertificateTexts>>({})
  const id = set[0]?.thermometer ?? null
  const register = useRecords({ thermometers: [id ?? undefined] }).data
  const thermometer = register?.thermometers[0]
  const date = typed.date ?? lastDay
  const due = isDay(date) ? proposedDue(date, thermometer?.calibrations ?? []) : ''
  const texts = { date, due, certificate: '', laboratory: settings.data?.laboratory.name ?? '', ...typed }
  const { calibration, missing } = useMemo(() => resultOfSet(set, subrange), [set, subrange])
  const request = useMemo(
    () =>
      calibration && id !== null
        ? requestOf(set, {
            subrange,
            thermometer: id,
            date: texts.date,
            due: isDay(texts.due) ? texts.due : undefined,
            certificate: texts.certificate,
            laboratory: texts.laboratory,
            note: noteOfSet(set),
            session: set.find((p) => p.fixedPoint === 'H2O')?.session,
          })
        : undefined,
    [calibration, id, set, subrange, texts.date, texts.due, texts.certificate, texts.laboratory],
  )
  const found = useMemo(
    () =>
      calibration && request
        ? { findings: findingsOf(calibration, thermometer, request, texts.date), band: bandOf(calibration) }
        : undefined,
    [calibration, thermometer, request, texts.date],
  )
  const needed = isDay(texts.date)
    ? texts.certificate.trim() === ''
      ? 'Give the certificate a number.'
      : undefined
    : 'Give the date as in 2026-03-01.'
  const absent =
    id === null
      ? 'The channel names no thermometer of the register.'
      : !thermometer && register
        ? `Thermometer ${id} is not in the register.`
        : undefined
  if (set.length === 0) return null
  return (
    <>
      <PlateauSet
        set={set}
        thermometer={thermometer?.name ?? id ?? ''}
        missing={missing}
        onRemove={(key) => checks.setState(({ set: old }) => ({ set: old.filter((p) => p.key !== key) }))}
        onClear={() => checks.setState({ set: [] })}
      />
      {calibration && found && (
        <>
          <Coefficients
            calibration={calibration}
            findings={found.findings}
            band={found.band}
            theme={theme}
            subrange={subrange}
            onSubrange={setSubrange}
          />
          <RecordNow
            act="Record the calibration"
            request={request && !needed && !absent ? () => request : undefined}
            missing={absent ?? needed}
            follows={GUIDES['fixed-points'].follows}
            onDone={() => checks.setState({ set: [] })}
          >
            <CertificateFields
              texts={texts}
              onText={(key, text) => setTyped((old) => ({ ...old, [key]: text }))}
            />
          </RecordNow>
        </>
      )}
    </>
  )
}
