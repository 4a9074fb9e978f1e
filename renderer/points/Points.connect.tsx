import { useState } from 'react'
import { counted } from '../../app/base/plural.ts'
import { threadKey } from '../../app/contract/thread-keys.ts'
import { unitOfChannel } from '../../app/live/channel-unit.ts'
import type { Point } from '../../app/records/point.ts'
import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useStation } from '../client/state.ts'
import { goTo, pullThread, usePage, usePath } from '../page/page.ts'
import { ofSession, pointsPath, readPointsPath } from '../page/points-address.ts'
import { copyTable } from '../parts/copy-table.ts'
import { useDecidedPoints } from './decided.connect.ts'
import { FitPanel } from './FitPanel.tsx'
import { LeaveOutNow } from './LeaveOut.connect.tsx'
import { NoPoints } from './NoPoints.connect.tsx'
import { PointsPanel } from './Points.tsx'
import { PointsTable, pointRows } from './PointsTable.tsx'
import { pointColumns } from './point-columns.tsx'
import type { CellView } from './points.model.ts'
import { pointsStore, usePoints } from './points.store.ts'
import { ReportNow } from './Report.connect.tsx'
import { Standing } from './Standing.connect.tsx'

interface Leaving {
  point: Point
  channel: { id: string; name: string } | undefined
}

interface Props {
  /** A session that is shown whatever the address says, by who shows its report beside it. */
  only?: string
}

export default function Points({ only }: Props) {
  const choice = usePoints()
  const path = readPointsPath(usePath('points'))
  const address = only === undefined ? path : { session: only, point: null, report: false }
  const running = useStation((state) => state?.session)
  const version = useStation((state) => state?.versions.points)
  const strip = useStation((state) => state?.strip) ?? []
  const theme = usePage((state) => state.theme)
  const sessions = useStation((state) => state?.versions.sessions)
  // With no session running, the one that ended last is what a person wants to see.
  const latest = useAnswer(running ? undefined : () => station.archive.sessions({ most: 1 }), [
    running?.id,
    sessions,
  ])
  const past = address.session ?? (running ? undefined : latest.data?.rows[0]?.info.id)
  const session = past ?? running?.id
  const { points: list, leftOut, opened, problem, known } = useDecidedPoints(session, version)
  const fits = useAnswer(session ? () => station.points.fits({ session }) : undefined, [session, version])
  const [leaving, setLeaving] = useState<Leaving | null>(null)
  if (!session) return latest.data || latest.problem ? <NoPoints /> : null
  if (!known) return null
  const channels = (opened?.setup.bench.channels ?? []).map((channel) => ({
    ...channel,
    unit: unitOfChannel(channel),
  }))
  const fit = fits.data?.find(({ channel }) => channel === choice.channel) ?? fits.data?.[0]
  const expected = past
    ? []
    : strip
        .filter(({ kind }) => kind === 'expected-point')
        .map((mark) => ({ celsius: mark.celsius ?? Number.NaN, at: mark.fromUtcUs }))
  const table = {
    points: list,
    channels,
    cell: choice.cell,
    fits: fits.data ?? [],
    leftOut,
    onPull: (point: string, channel: string, field: CellView['field']) =>
      pullThread(session, threadKey.point(point, channel, field)),
    onLeaveOut: (point: Point) => setLeaving({ point, channel: undefined }),
  }
  return (
    <>
      <PointsPanel
        title={past ? (opened?.info.name ?? '') : (running?.name ?? '')}
        about={`${counted(list.length, 'point')} taken${expected.length > 0 ? `, ${expected.length} to come` : ''}.`}
        cell={choice.cell}
        onCell={(cell) => pointsStore.setState({ cell })}
        fits={fits.data ?? []}
        chosen={fit?.channel}
        onChoose={(channel) => pointsStore.setState({ channel })}
        problem={problem ?? fits.problem}
        onReport={
          only === undefined
            ? () => goTo('points', pointsPath({ ...address, point: null, report: !address.report }))
            : undefined
        }
        onCopy={() => copyTable(pointColumns(table), pointRows(list), 'The table of points')}
        onCurrent={
          only === undefined && address.session && running ? () => goTo('points', ofSession(null)) : undefined
        }
        report={address.report ? <ReportNow session={session} /> : null}
        standing={list.length > 0 ? <Standing channels={channels} /> : null}
        table={<PointsTable {...table} expected={expected} addressed={address.point} />}
        fit={
          fit && (
            <FitPanel
              fit={fit}
              theme={theme}
              used={(point) =>
                list.find(({ id }) => id === point)?.channels.find(({ channel }) => channel === fit.channel)
              }
              onLeaveOut={(id) => {
                const point = list.find((one) => one.id === id)
                if (point) setLeaving({ point, channel: { id: fit.channel, name: fit.name } })
              }}
              onPullCoefficient={(name) => pullThread(session, threadKey.coefficient(fit.channel, name))}
              onPullPoint={(point, field) =>
                pullThread(session, threadKey.fitPoint(fit.channel, point, field))
              }
            />
          )
        }
      />
      {leaving && <LeaveOutNow session={session} {...leaving} onClose={() => setLeaving(null)} />}
    </>
  )
}
