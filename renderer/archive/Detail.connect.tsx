import { useState } from 'react'
import type { ArchiveRow, Comparison as ComparisonData, VerifyResult } from '../../app/contract/studies.ts'
import { useAct } from '../client/act.ts'
import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { usePages } from '../client/pages.ts'
import { useBackStep } from '../page/hooks.ts'
import { goTo, say } from '../page/page.ts'
import { usePerson } from '../page/person.ts'
import { ofSession } from '../page/points-address.ts'
import { Reason } from '../parts/Reason.tsx'
import { save } from '../text/save.ts'
import { type Format, SUFFIX } from './archive.model.ts'
import { ComparisonNow } from './Comparison.connect.tsx'
import { OverviewPlot } from './OverviewPlot.connect.tsx'
import { ReplayNow } from './Replay.connect.tsx'
import { SessionDetail } from './SessionDetail.tsx'

/** Sessions offered to compare with, before one is looked for. */
const MOST_OTHERS = 50

interface Props {
  row: ArchiveRow
  /** A moment that is shown at once, us of UTC. */
  at: number | undefined
  onClose: (() => void) | undefined
}

export function Detail({ row, at, onClose }: Props) {
  const session = row.info.id
  const who = usePerson().person?.name
  const { problem, working, attempt } = useAct()
  const [verify, setVerify] = useState<VerifyResult>()
  const [comparison, setComparison] = useState<{ data: ComparisonData; other: ArchiveRow | undefined }>()
  /** The moment a replay begins at; undefined: at the session's beginning. */
  const [replaying, setReplaying] = useState<{ at: number | undefined } | undefined>(
    at === undefined ? undefined : { at },
  )
  const [note, setNote] = useState<string>()
  const [format, setFormat] = useState<Format>('csv')
  const [asked, setAsked] = useState(0)
  const events = usePages((page) => station.history.events({ session, ...page }), [session], asked, 500)
  const [finding, setFinding] = useState('')
  const found = useAnswer(() => station.archive.sessions({ search: finding, most: MOST_OTHERS }), [finding])
  const others = (found.data?.rows ?? []).filter(({ info }) => info.id !== session)
  const many = finding !== '' || (found.data?.total ?? 0) > MOST_OTHERS
  const opened = useAnswer(() => station.archive.open({ session }), [session, asked])
  useBackStep(onClose !== undefined, () => onClose?.())
  const doing = <T,>(words: string, answer: Promise<T>, then: (value: T) => void) =>
    void attempt(answer, then, words)
  const channels = opened.data?.setup.bench.channels ?? []
  const first = channels.find(({ role }) => role === 'reference') ?? channels[0]
  return (
    <>
      <SessionDetail
        row={row}
        channels={channels.length > 0 ? channels.map(({ name }) => name) : row.channels}
        copiedUtcUs={opened.data?.copiedUtcUs ?? null}
        events={events.rows}
        eventCount={events.total ?? 0}
        onMoreEvents={events.more}
        others={others}
        finder={
          many
            ? {
                typed: finding,
                onTyped: setFinding,
                words: `${others.length} of ${found.data?.total ?? 0} sessions`,
              }
            : undefined
        }
        working={working}
        problem={problem ?? opened.problem}
        verify={verify}
        format={format}
        onFormat={setFormat}
        plot={first ? <OverviewPlot session={session} channel={first.id} name={first.name} /> : null}
        replay={
          replaying ? (
            <ReplayNow key={replaying.at ?? 'beginning'} session={session} at={replaying.at} />
          ) : null
        }
        comparison={
          comparison ? (
            <ComparisonNow row={row} {...comparison} onClose={() => setComparison(undefined)} />
          ) : null
        }
        onClose={onClose}
        onReplay={() => setReplaying(replaying ? undefined : { at: undefined })}
        onMoment={(at) => setReplaying({ at })}
        onAnnotate={() => setNote('')}
        onOpenPoints={() => {
          goTo('points', ofSession(session))
        }}
        onVerify={() =>
          doing('Reading every batch and its hash', station.archive.verify({ session }), setVerify)
        }
        onBackup={() =>
          doing('Copying and checking the copy', station.archive.backup({ session }), ({ words }) => {
            say(words)
            setAsked((n) => n + 1)
          })
        }
        onCompare={(id) => {
          setComparison(undefined)
          doing(
            'Comparing',
            station.archive.compare({ session, with: id === 'now' ? 'now' : { session: id } }),
            (data) => setComparison({ data, other: others.find(({ info }) => info.id === id) }),
          )
        }}
        onExport={() =>
          doing('Writing the file', station.archive.export({ session, format }), (blob) =>
            save(blob as Blob, `${session}.${SUFFIX[format]}`),
          )
        }
      />
      {note !== undefined && (
        <Reason
          title="Annotate this session"
          words="The note is added to the session with its time. Nothing in the session is changed."
          act="Keep the note"
          label="Note"
          who={who}
          why={note}
          problem={problem}
          onWhy={setNote}
          onClose={() => setNote(undefined)}
          onAct={() =>
            attempt(station.archive.annotate({ session, words: note }), ({ words }) => {
              say(words)
              setNote(undefined)
              setAsked((n) => n + 1)
            })
          }
        />
      )}
    </>
  )
}
