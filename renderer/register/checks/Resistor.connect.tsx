import { useMemo, useState } from 'react'
import { last } from '../../../app/base/lists.ts'
import { withComparison } from '../../../app/checks/check-record.ts'
import { proposedDue } from '../../../app/checks/next-due.ts'
import { compareResistor } from '../../../app/checks/resistor-check.ts'
import type { CheckRequest } from '../../../app/contract/check-request.ts'
import { bridgeInForce } from '../../../app/live/bridge-in-force.ts'
import type { Resistor } from '../../../app/records/register.ts'
import { station } from '../../client/connect.ts'
import { useResistors } from '../../client/records.ts'
import { useToday } from '../../client/state.ts'
import { usePage } from '../../page/page.ts'
import { readNumber } from '../../text/numbers.ts'
import { CertificateFields, type CertificateTexts } from './CertificateFields.tsx'
import { FromSessionNow } from './FromSession.connect.tsx'
import { GUIDES } from './guides.ts'
import { RecordNow } from './Record.connect.tsx'
import { ResistorPage } from './Resistor.tsx'
import { ResistorResult } from './ResistorResult.tsx'
import type { SessionChoice } from './sessions.connect.tsx'
import { dayOfSession } from './sessions.model.ts'

type ResistorRequest = Extract<CheckRequest, { check: 'resistor' }>
const isDay = (text: string) => /^\d{4}-\d{2}-\d{2}$/.test(text)

/** The most certain of the others, of those of the same nominal value where there are any. */
function bestBeside(resistors: readonly Resistor[], own: Resistor | undefined): Resistor | undefined {
  const others = resistors.filter((r) => r !== own && r.calibrations.length > 0)
  const alike = others.filter(({ nominalOhm }) => nominalOhm === own?.nominalOhm)
  const relative = ({ calibrations }: Resistor) => last(calibrations).expandedRelative / last(calibrations).k
  return (alike.length > 0 ? alike : others).toSorted((a, b) => relative(a) - relative(b))[0]
}

/** The yearly comparison of a reference resistor with a better one. */
export function ResistorNow({ sessions }: { sessions: readonly SessionChoice[] }) {
  const theme = usePage((state) => state.theme)
  const [ids, setIds] = useState<{ resistor?: string; better?: string }>({})
  const { resistors, finder } = useResistors([ids.resistor, ids.better])
  const [texts, setTexts] = useState({ ratio: '', uRatio: '' })
  const [typed, setTyped] = useState<Partial<CertificateTexts>>({})
  const [asCalibration, setAsCalibration] = useState(true)
  const [session, setSession] = useState<string>()
  const resistor = resistors.find(({ id }) => id === ids.resistor) ?? resistors[0]
  const today = useToday()
  const certificate = useMemo((): CertificateTexts => {
    const date = typed.date ?? today
    return {
      date,
      due: isDay(date) ? proposedDue(date, resistor?.calibrations ?? []) : '',
      certificate: '',
      laboratory: '',
      ...typed,
    }
  }, [typed, resistor, today])
  const better = resistors.find(({ id }) => id === ids.better) ?? bestBeside(resistors, resistor)
  const ratio = readNumber(texts.ratio)
  const uRatio = readNumber(texts.uRatio, { ppm: 1e-6, ppb: 1e-9 })
  const request = useMemo((): ResistorRequest | undefined => {
    if (!resistor || !better || !ratio || ratio <= 0 || uRatio === undefined || uRatio < 0) return undefined
    if (!isDay(certificate.date)) return undefined
    const { due, ...texts } = certificate
    return {
      check: 'resistor',
      ratio,
      uRatio,
      better,
      resistor,
      asCalibration,
      ...texts,
      ...(asCalibration && isDay(due) && { due }),
      ...(session && { session }),
    }
  }, [resistor, better, ratio, uRatio, certificate, asCalibration, session])
  const found = useMemo(() => {
    if (!request) return undefined
    try {
      withComparison(request)
      return { result: compareResistor(request), problem: undefined }
    } catch (fault) {
      return { result: undefined, problem: fault instanceof Error ? fault.message : String(fault) }
    }
  }, [request])
  const needsNumber = asCalibration && certificate.certificate.trim() === ''
  return (
    <>
      <ResistorPage
        resistors={resistors}
        finder={finder}
        resistor={resistor?.id ?? ''}
        better={better?.id ?? ''}
        texts={texts}
        problems={{
          ratio: texts.ratio.trim() !== '' && !(ratio && ratio > 0) ? 'A number above 0' : undefined,
          uRatio:
            texts.uRatio.trim() !== '' && uRatio === undefined
              ? 'A number, such as 5e-8 or 0.05 ppm'
              : undefined,
        }}
        onIds={(change) => setIds((old) => ({ ...old, ...change }))}
        onTexts={(change) => setTexts((old) => ({ ...old, ...change }))}
        fromSession={
          <FromSessionNow
            sessions={sessions}
            wanted={['n, this resistor over the better']}
            guess={[/over best/i]}
            onTake={async ([taken]) => {
              const day = dayOfSession(sessions, taken!.session)
              const { instruments } = await station.register.some({
                instruments: taken!.instrument === undefined ? [] : [taken!.instrument],
              })
              const bridge = bridgeInForce(instruments[0], day ?? certificate.date)
              const u = Math.hypot(taken!.u, bridge?.linearityRatio ?? 0, bridge?.uResolutionRatio ?? 0)
              setTexts({ ratio: taken!.mean.toPrecision(12), uRatio: u.toPrecision(3) })
              setSession(taken!.session)
              if (day !== undefined) setTyped((old) => ({ ...old, date: day }))
            }}
          />
        }
      />
      {!found && (
        <p className="faint hint">Type the ratio and its standard uncertainty, or take it from a session.</p>
      )}
      {found && request && (
        <>
          <ResistorResult request={request} result={found.result} problem={found.problem} theme={theme} />
          <RecordNow
            act="Record the comparison"
            request={found.result && !needsNumber ? () => request : undefined}
            missing={found.problem ?? (needsNumber ? 'Give the certificate a number.' : undefined)}
            follows={GUIDES.resistor.follows}
            onDone={() => setTexts({ ratio: '', uRatio: '' })}
          >
            <CertificateFields
              texts={certificate}
              onText={(key, text) => setTyped((old) => ({ ...old, [key]: text }))}
              asCalibration={asCalibration}
              onAsCalibration={setAsCalibration}
            />
          </RecordNow>
        </>
      )}
    </>
  )
}
