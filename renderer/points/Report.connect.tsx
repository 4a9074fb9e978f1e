import { useState } from 'react'
import { useAct } from '../client/act.ts'
import { useAnswer, wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useSettings, useStation } from '../client/state.ts'
import { NO_ANSWERS, statementsOf } from '../desk/signer.model.ts'
import { useBackStep } from '../page/hooks.ts'
import { goTo, say, usePage, usePath } from '../page/page.ts'
import { asPerson, usePerson } from '../page/person.ts'
import { pointsPath, readPointsPath } from '../page/points-address.ts'
import { save } from '../text/save.ts'
import { useDecidedPoints } from './decided.connect.ts'
import { doubts } from './points.model.ts'
import { Report } from './Report.tsx'
import { pageOf, pagesOf, RECORD } from './report-pages.model.ts'
import { SignOff, type SignOffDraft } from './SignOff.tsx'
import { TakeOver } from './TakeOver.connect.tsx'

interface Props {
  session: string
  /** Thermometers of the order whose job sheet this is a part of: the sheet stays open, and gives its own customer's papers alone. */
  ofOrder?: readonly string[]
}

export function ReportNow({ session, ofOrder }: Props) {
  const versions = useStation((state) => state?.versions)
  const paper = useSettings()?.paper ?? 'A4'
  const rows = useAnswer(
    () => station.archive.sessions({ ids: [session] }),
    [session, versions?.sessions, versions?.points],
  )
  const row = rows.data?.rows[0]
  const address = readPointsPath(usePath('points'))
  const theme = usePage((state) => state.theme)
  const { person } = usePerson()
  const [working, setWorking] = useState(false)
  const [signing, setSigning] = useState<SignOffDraft | null>(null)
  const { problem, attempt } = useAct()
  const [taking, setTaking] = useState(false)
  const [saved, setSaved] = useState(false)
  const fits = useAnswer(() => station.points.fits({ session }), [session, versions?.points])
  const certificates = useAnswer(() => station.points.certificates({ session }), [session, versions?.points])
  const papers = (certificates.data ?? []).filter(({ thermometer }) => ofOrder?.includes(thermometer) ?? true)
  // A job sheet shows what its customer gets; elsewhere the laboratory's record comes first.
  const first = ofOrder && papers[0] ? papers[0].thermometer : RECORD
  const [chosen, setChosen] = useState<string | null>(null)
  const page = pageOf(papers, chosen ?? first)
  const html = useAnswer(
    () =>
      page === RECORD
        ? station.points.reportHtml({ session })
        : station.points.certificateHtml({ session, thermometer: page }),
    [session, versions?.points, page],
  )
  const holds = useAnswer(() => station.points.signOffHolds({ session }), [session, versions?.points])
  const { points } = useDecidedPoints(session, versions?.points)
  const found = (fits.data ?? []).filter(({ conversion }) => conversion !== null)
  const close = () => goTo('points', pointsPath({ ...address, report: false }))
  useBackStep(ofOrder === undefined, close)
  return (
    <>
      <Report
        html={html.data}
        theme={theme}
        problem={html.problem}
        signedOffBy={row?.signedOffBy ?? null}
        working={working}
        saved={saved}
        isOld={html.asking}
        onClose={ofOrder ? undefined : close}
        onTakeOver={row?.signedOffBy && found.length > 0 ? () => setTaking(true) : undefined}
        onSign={() =>
          void asPerson(() =>
            setSigning({
              password: '',
              remark: '',
              answers: NO_ANSWERS,
              gapsKnown: false,
              findingsKnown: false,
              keyPassword: '',
              keyKept: false,
            }),
          )
        }
        pages={pagesOf(papers)}
        page={page}
        onPage={setChosen}
        certificates={papers}
        onCertificate={({ thermometer, file: name }, kind) => {
          const asked = { session, thermometer, paper }
          setWorking(true)
          ;(kind === 'pdf' ? station.points.certificatePdf(asked) : station.points.certificateXml(asked))
            .then(
              (file) => {
                save(file as Blob, `${name}.${kind}`)
                setSaved(true)
              },
              (fault) => say(wordsOf(fault), 'problem'),
            )
            .finally(() => setWorking(false))
        }}
        onPdf={() => {
          setWorking(true)
          station.points
            .reportPdf({ session, paper })
            .then(
              (pdf) => save(pdf as Blob, `report-${session}.pdf`),
              (fault) => say(wordsOf(fault), 'problem'),
            )
            .finally(() => setWorking(false))
        }}
      />
      {taking && <TakeOver session={session} channels={found} onClose={() => setTaking(false)} />}
      {signing && (
        <SignOff
          who={person?.name}
          needsPassword={person?.practice !== true}
          draft={signing}
          session={row?.info.name ?? session}
          doubts={doubts(points, fits.data ?? [])}
          holds={holds.data}
          problem={problem ?? holds.problem}
          onChange={setSigning}
          onClose={() => setSigning(null)}
          onSign={() => {
            const { answers, ...signer } = signing
            const statements = statementsOf(answers)
            if (!statements) return
            attempt(station.points.signOff({ session, ...signer, statements }), ({ words }) => {
              say(words)
              setSigning(null)
            })
          }}
        />
      )}
    </>
  )
}
