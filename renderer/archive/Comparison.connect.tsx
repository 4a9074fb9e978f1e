import { useMemo, useState } from 'react'
import type { ArchiveRow, Comparison as ComparisonData } from '../../app/contract/studies.ts'
import type { Register } from '../../app/records/register.ts'
import { decisionsOf } from '../../app/results/analysis-input.ts'
import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { allOf } from '../client/pages.ts'
import { reportNumbers } from '../text/report-numbers.ts'
import { Comparison } from './Comparison.tsx'
import { CorrectNow } from './Correct.connect.tsx'
import { comparedRows } from './comparison.model.ts'
import { recordChanges, sessionLabel, whyChanged } from './reasons.model.ts'

interface Props {
  row: ArchiveRow
  /** The other session; undefined for the same readings with the records of today. */
  other: ArchiveRow | undefined
  data: ComparisonData
  onClose: () => void
}

/** A session's setup with the amendments since, which is what its results were computed with. */
async function decidedSetup(session: string) {
  const [{ setup }, events] = await Promise.all([
    station.archive.open({ session }),
    allOf((page) =>
      station.history.events({ session, kinds: ['amendment', 'decision', 'sign-off'], ...page }),
    ),
  ])
  return decisionsOf(setup, events).setup
}

/** The records of now of what a session measured. */
function recordsLike({ thermometers, resistors, instruments, fluids }: Register): Promise<Register> {
  const ids = (entries: readonly { id: string }[]) => entries.map(({ id }) => id)
  return station.register.some({
    thermometers: ids(thermometers),
    resistors: ids(resistors),
    instruments: ids(instruments),
    fluids: ids(fluids),
  })
}

export function ComparisonNow({ row, other, data, onClose }: Props) {
  const session = row.info.id
  const otherId = other?.info.id
  const [correcting, setCorrecting] = useState(false)
  const records = useAnswer(async () => {
    const [then, now, customers] = await Promise.all([
      decidedSetup(session),
      otherId === undefined ? undefined : decidedSetup(otherId).then(({ register }) => register),
      otherId === undefined ? station.orders.changedCustomers({ session }) : [],
    ])
    return {
      bench: then.bench,
      customers: customers.map((name) => `Name or address of ${name}`),
      changes: recordChanges(then.register, now ?? (await recordsLike(then.register))),
    }
  }, [session, otherId])
  const report = useAnswer(() => station.points.report({ session }), [session])
  const rows = useMemo(() => {
    const known = records.data
    const why = (key: string) => (known ? whyChanged(key, known.bench, known.changes) : '')
    return comparedRows(data.lines, reportNumbers(report.data), why)
  }, [data, records.data, report.data])
  const changes = [
    ...(records.data?.changes.map(({ words }) => words) ?? []),
    ...(records.data?.customers ?? []),
  ]
  const canCorrect = !other && row.info.endedUtcUs !== null && changes.length > 0
  return (
    <>
      <Comparison
        words={data.words}
        moved={data.moved}
        rows={rows}
        here={other ? sessionLabel(row.info.name, row.info.startedUtcUs) : 'Then'}
        there={other ? sessionLabel(other.info.name, other.info.startedUtcUs) : 'Today'}
        changes={changes}
        onCorrect={canCorrect ? () => setCorrecting(true) : undefined}
        onClose={onClose}
      />
      {correcting && (
        <CorrectNow
          session={session}
          changes={changes}
          signed={row.signedOffBy !== null}
          onDone={onClose}
          onClose={() => setCorrecting(false)}
        />
      )}
    </>
  )
}
