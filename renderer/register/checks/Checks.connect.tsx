import { useState } from 'react'
import { wordsOf } from '../../client/ask.ts'
import { station } from '../../client/connect.ts'
import { useStation } from '../../client/state.ts'
import { say } from '../../page/page.ts'
import { BridgeNow } from './Bridge.connect.tsx'
import { CellsNow, SequenceNow } from './Cells.connect.tsx'
import { ChecksPanel } from './Checks.tsx'
import { type CheckPage, GUIDES } from './guides.ts'
import { Practise } from './Practise.tsx'
import { RecordingNow } from './Recording.connect.tsx'
import { ResistorNow } from './Resistor.connect.tsx'
import { ResistorSetNow } from './ResistorSet.connect.tsx'
import { useSessions } from './sessions.connect.tsx'
import { WtpNow } from './Wtp.connect.tsx'

interface Props {
  page: CheckPage
  onPage: (page: CheckPage) => void
}

/** The guided checks of a laboratory: cells, bridges, resistors, thermometers. */
export function ChecksNow({ page, onPage }: Props) {
  const { sessions, finder, known, problem } = useSessions()
  const running = useStation((state) => state?.session != null)
  const pace = useStation((state) => state?.pace ?? null)
  const [working, setWorking] = useState(false)
  const [trouble, setTrouble] = useState<string>()
  const practise = (what: 'cells' | 'bridge') => {
    setWorking(true)
    setTrouble(undefined)
    station.checks
      .practise({ what })
      .then(
        ({ words }) => say(words),
        (fault) => setTrouble(wordsOf(fault)),
      )
      .finally(() => setWorking(false))
  }
  const live = (scenario: string) =>
    station.bench.startLab({ scenario }).then(
      () => {
        setTrouble(undefined)
        say('The lab in a box is on the bench. Record it here when you are ready.')
      },
      (fault) => setTrouble(wordsOf(fault)),
    )
  const needsSession = page === 'fixed-points' || page === 'wtp'
  return (
    <ChecksPanel
      page={page}
      guide={GUIDES[page]}
      isNew={known && sessions.length === 0 && !finder}
      finder={finder}
      problem={problem}
      onPage={onPage}
      practise={
        <Practise
          page={page}
          working={working}
          running={running}
          problem={trouble}
          pace={pace}
          onPace={(next) =>
            void station.station.pace({ pace: next }).then(
              ({ words }) => say(words),
              (fault) => setTrouble(wordsOf(fault)),
            )
          }
          onPractise={practise}
          onLive={live}
        />
      }
      recording={page === 'wtp' ? null : <RecordingNow />}
    >
      {known && page === 'fixed-points' && sessions.length === 0 && !finder && <SequenceNow />}
      {known && !(needsSession && sessions.length === 0 && !finder) && (
        <Page key={`page ${page} ${sessions.length === 0}`} page={page} sessions={sessions} />
      )}
    </ChecksPanel>
  )
}

function Page({ page, sessions }: { page: CheckPage; sessions: ReturnType<typeof useSessions>['sessions'] }) {
  switch (page) {
    case 'fixed-points':
      return <CellsNow sessions={sessions} />
    case 'resistor':
      return (
        <>
          <ResistorNow sessions={sessions} />
          <ResistorSetNow />
        </>
      )
    case 'wtp':
      return <WtpNow sessions={sessions} />
    default:
      return <BridgeNow page={page} sessions={sessions} />
  }
}
