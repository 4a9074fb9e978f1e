import type { ChartKind, ChartView } from '../../app/contract/checks.ts'
import type { Register } from '../../app/records/register.ts'
import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useStation } from '../client/state.ts'
import { goTo, usePage } from '../page/page.ts'
import { Problem } from '../parts/Problem.tsx'
import { ofSession, pointsStore } from '../points/points.store.ts'
import { AllChartsPanel } from './AllCharts.tsx'
import { ControlChart } from './ControlChart.tsx'
import type { Shelf } from './register.model.ts'

/** What is watched over the years, by shelf. */
const KINDS: Record<Shelf, readonly ChartKind[]> = {
  thermometers: ['rwtp', 'check-thermometer'],
  resistors: ['resistor'],
  instruments: ['bridge'],
  cells: [],
  fluids: [],
}

/** Opens a session at its results. */
export function openSession(session: string): void {
  pointsStore.setState({ channel: null })
  goTo('points', ofSession(session))
}

export function Charts({ shelf, id }: { shelf: Shelf; id: string }) {
  return KINDS[shelf].map((kind) => <ChartOf key={kind} kind={kind} id={id} />)
}

function ChartOf({ kind, id }: { kind: ChartKind; id: string }) {
  const theme = usePage((state) => state.theme)
  const version = useStation((state) => state?.versions.register)
  const { data } = useAnswer(() => station.checks.history({ kind, id }), [kind, id, version])
  // An entry that is not of this kind has no such chart; the station says so and nothing is drawn.
  return data ? <ControlChart chart={data} theme={theme} onSession={openSession} /> : null
}

/** Charts of one kind that have something in them. */
async function chartsOf(kind: ChartKind, entries: readonly { id: string }[]): Promise<ChartView[]> {
  const all = await Promise.all(entries.map(({ id }) => station.checks.history({ kind, id })))
  return all.filter((chart) => chart.entries.length > 0)
}

async function allCharts({ thermometers, resistors, instruments }: Register) {
  const bridges = instruments.filter(({ role }) => role === 'ratio-bridge')
  const platinum = thermometers.filter(({ wtpHistory }) => wtpHistory.length > 0)
  const [rwtp, checked, resistor, bridge] = await Promise.all([
    chartsOf('rwtp', platinum),
    chartsOf('check-thermometer', thermometers),
    chartsOf('resistor', resistors),
    chartsOf('bridge', bridges),
  ])
  return [
    { name: 'R(0.01 °C) of thermometers', charts: rwtp },
    { name: 'Check thermometers against the reference', charts: checked },
    { name: 'Reference resistors', charts: resistor },
    { name: 'Bridges', charts: bridge },
  ]
}

/** Every control chart of the register, the kinds one after the other. */
export function AllCharts() {
  const theme = usePage((state) => state.theme)
  const versions = useStation((state) => state?.versions)
  const { data, problem, asking } = useAnswer(
    async () => allCharts(await station.register.get()),
    [versions?.register, versions?.sessions],
  )
  return (
    <>
      <Problem words={problem} />
      <AllChartsPanel
        groups={data ?? []}
        working={asking && !data}
        chart={(chart) => <ControlChart chart={chart} theme={theme} onSession={openSession} />}
      />
    </>
  )
}
