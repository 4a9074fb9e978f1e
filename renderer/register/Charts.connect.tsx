import { useState } from 'react'
import { counted } from '../../app/base/plural.ts'
import type { ChartKind } from '../../app/contract/checks.ts'
import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useStation } from '../client/state.ts'
import { goTo, usePage } from '../page/page.ts'
import { ofSession } from '../page/points-address.ts'
import { Problem } from '../parts/Problem.tsx'
import { ControlChart } from '../plots/ControlChart.tsx'
import { ChartGroup } from './AllCharts.tsx'
import { momentOf } from './chart-moment.ts'
import type { Shelf } from './register.model.ts'
import { useCharts } from './use-charts.ts'

/** Charts drawn before a person asks for more. */
const AT_A_TIME = 12

/** What is watched over the years, by shelf. */
const KINDS: Record<Shelf, readonly ChartKind[]> = {
  thermometers: ['rwtp', 'check-thermometer'],
  resistors: ['resistor'],
  instruments: ['bridge'],
  cells: [],
  baths: [],
  fluids: [],
}

/** Opens a session at its results. */
export function openSession(session: string): void {
  goTo('points', ofSession(session))
}

/** Opens a session where a chart's entry was measured, in its record. */
function openMoment(kind: ChartKind, session: string): void {
  const open = (moment: number | undefined) =>
    goTo('archive', moment === undefined ? [session] : [session, String(moment)])
  void station.points.list({ session }).then(
    (points) => open(momentOf(kind, points)),
    () => open(undefined),
  )
}

export function Charts({ shelf, id }: { shelf: Shelf; id: string }) {
  return KINDS[shelf].map((kind) => <ChartOf key={kind} kind={kind} id={id} />)
}

function ChartOf({ kind, id }: { kind: ChartKind; id: string }) {
  const theme = usePage((state) => state.theme)
  const version = useStation((state) => state?.versions.register)
  const { data } = useAnswer(() => station.checks.history({ kind, id }), [kind, id, version])
  // An entry that is not of this kind has no such chart; the station says so and nothing is drawn.
  return data ? (
    <ControlChart chart={data} theme={theme} onSession={(session) => openMoment(kind, session)} />
  ) : null
}

/** What each group of charts is kept of. */
const GROUPS: readonly { name: string; kind: ChartKind }[] = [
  { name: 'R(0.01 °C) of thermometers', kind: 'rwtp' },
  { name: 'Check thermometers against the reference', kind: 'check-thermometer' },
  { name: 'Reference resistors', kind: 'resistor' },
  { name: 'Bridges', kind: 'bridge' },
]

/** How far a group has come, in words; undefined where everything is there. */
function standing(now: { shown: number; total: number | undefined; pending: number; done: boolean }) {
  const { shown, total, pending, done } = now
  if (total === undefined) return 'Looking for charts.'
  const more = pending > 0 ? ` ${counted(pending, 'session')} are still being looked through.` : ''
  if (done && shown >= total) return more === '' ? undefined : more.trim()
  return `${shown} of ${counted(total, 'chart')}${done ? '' : ', more are coming'}.${more}`
}

/** Control charts of one kind, one after the other, as far as a person has asked for them. */
function GroupNow({ name, kind }: (typeof GROUPS)[number]) {
  const theme = usePage((state) => state.theme)
  const versions = useStation((state) => state?.versions)
  const [wanted, setWanted] = useState(AT_A_TIME)
  const { charts, total, pending, problem, done } = useCharts(
    kind,
    wanted,
    `${versions?.register} ${versions?.sessions}`,
  )
  return (
    <>
      <Problem words={problem} />
      <ChartGroup
        name={name}
        charts={charts}
        words={standing({ shown: charts.length, total, pending, done })}
        more={done && charts.length < (total ?? 0) ? () => setWanted((n) => n + AT_A_TIME) : undefined}
        chart={(chart) => (
          <ControlChart chart={chart} theme={theme} onSession={(session) => openMoment(kind, session)} />
        )}
      />
    </>
  )
}

/** Every control chart of the register, the kinds one after the other. */
export function AllCharts() {
  return (
    <div className="stack charts">
      {GROUPS.map((group) => (
        <GroupNow key={group.kind} {...group} />
      ))}
    </div>
  )
}
