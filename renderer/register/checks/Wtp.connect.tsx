import { useState } from 'react'
import { useAct } from '../../client/act.ts'
import { useAnswer } from '../../client/ask.ts'
import { station } from '../../client/connect.ts'
import { useRecords } from '../../client/records.ts'
import { useStation } from '../../client/state.ts'
import { say } from '../../page/page.ts'
import { useMay } from '../../page/person.ts'
import { Choice } from '../../parts/Choice.tsx'
import { Problem } from '../../parts/Problem.tsx'
import { GUIDES } from './guides.ts'
import { RecordPanel } from './Record.tsx'
import type { SessionChoice } from './sessions.connect.tsx'
import { Wtp } from './Wtp.tsx'

/** R(WTP) that a session measured before and after, and the way into the register. */
export function WtpNow({ sessions }: { sessions: readonly SessionChoice[] }) {
  const may = useMay('keep-records')
  const running = useStation((state) => state?.session?.id)
  const [chosen, setChosen] = useState<string>()
  const [why, setWhy] = useState('')
  const { problem, attempt } = useAct()
  // R(WTP) is taken as a point of a plan: a record without points has none.
  const ended = sessions.filter(({ id, points }) => id !== running && points > 0)
  const session = chosen ?? ended[0]?.id ?? ''
  const measured = useAnswer(
    session ? async () => ({ of: session, rows: await station.checks.measuredWtp({ session }) }) : undefined,
    [session],
  )
  // What another session measured stays out of sight while this one's is on its way.
  const rows = measured.data?.of === session ? measured.data.rows : undefined
  const found = rows ?? []
  const register = useRecords({ thermometers: found.map(({ thermometer }) => thermometer) }).data
  const last = (id: string) =>
    register?.thermometers
      .find((t) => t.id === id)
      ?.wtpHistory.filter((entry) => entry.session !== session)
      .toSorted((a, b) => a.date.localeCompare(b.date))
      .at(-1)
  const taken = found.some(({ thermometer }) =>
    register?.thermometers.find((t) => t.id === thermometer)?.wtpHistory.some((e) => e.session === session),
  )
  return (
    <>
      <section className="sheet" aria-label="What the session measured">
        <h3>What the session measured</h3>
        {ended.length === 0 ? (
          <p className="faint">
            No session with points has ended yet. A plan with its water triple point check on measures R(WTP)
            before and after.
          </p>
        ) : (
          <div className="fields wide-fields">
            <Choice label="Session" value={session} options={ended} onChange={setChosen} />
          </div>
        )}
        <Problem words={measured.problem} />
        {rows && found.length === 0 && (
          <p className="faint">
            This session measured no R(WTP). A plan does so before and after where its water triple point
            check is on.
          </p>
        )}
        <Wtp rows={found.map((row) => ({ ...row, last: last(row.thermometer) }))} />
        {taken && <p>What this session measured is in the register already. Taking it again replaces it.</p>}
      </section>
      {found.length > 0 && (
        <RecordPanel
          act="Take R(WTP) into the register"
          why={why}
          locked={!may}
          ready
          missing={undefined}
          follows={GUIDES.wtp.follows}
          problem={problem}
          onWhy={setWhy}
          onAct={() =>
            attempt(station.checks.takeWtp({ session, why }), ({ words }) => {
              setWhy('')
              say(words)
            })
          }
        >
          {null}
        </RecordPanel>
      )}
    </>
  )
}
