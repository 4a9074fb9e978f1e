import type { ReactNode } from 'react'
import type { LifeEvent, LifeView } from '../../app/contract/life.ts'
import { Button } from '../parts/Button.tsx'
import { Table } from '../parts/Table.tsx'
import type { Column } from '../parts/table.column.ts'
import { DotPlot } from '../plots/DotPlot.tsx'
import { fixed } from '../text/numbers.ts'
import { SettlingTimes } from './SettlingTimes.tsx'

interface Props {
  life: LifeView
  theme: string
  onSession: (session: string) => void
  onExport: () => void
  /** Enters what was done to it. */
  repairs?: ReactNode
}

const KIND_WORDS: Record<LifeEvent['kind'], string> = {
  calibration: 'Calibration',
  wtp: 'R(0.01 °C)',
  comparison: 'Comparison',
  check: 'Check',
  survey: 'Survey',
  plateau: 'Plateau',
  session: 'Session',
  item: 'Received',
  repair: 'Adjustment or repair',
  change: 'Record changed',
}

const forecastColumns: Column<LifeView['forecast'][number]>[] = [
  {
    id: 'celsius',
    name: 'At',
    unit: 'degC',
    heads: true,
    value: (f) => f.celsius,
    show: (f) => fixed(f.celsius, 2),
  },
  {
    id: 'drift',
    name: 'Drift a year',
    unit: 'mK',
    value: (f) => f.mkPerYear,
    show: (f) => fixed(f.mkPerYear, 2),
  },
  {
    id: 'uDrift',
    name: 'U (k = 2)',
    unit: 'mK',
    value: (f) => 2 * f.uMkPerYear,
    show: (f) => fixed(2 * f.uMkPerYear, 2),
  },
  { id: 'date', name: 'Foretold for', left: true, value: (f) => f.date },
  {
    id: 'moved',
    name: 'Moved by then',
    unit: 'mK',
    value: (f) => f.movedMk,
    show: (f) => fixed(f.movedMk, 2),
  },
  {
    id: 'u',
    name: 'U (k = 2) then',
    unit: 'mK',
    value: (f) => f.expandedMk,
    show: (f) => fixed(f.expandedMk, 2),
  },
]

/** What an entry of the register has done over the years: deviation from its first calibration, drift foretold, every event. */
export function Life({ life, theme, onSession, onExport, repairs }: Props) {
  const { events, curves, forecast, advice, nights } = life
  const drawn = curves.filter(({ points }) => points.length > 0)
  const columns: Column<LifeEvent & { key: string }>[] = [
    { id: 'date', name: 'Date', heads: true, value: ({ date }) => date },
    { id: 'kind', name: 'What', left: true, value: ({ kind }) => KIND_WORDS[kind] },
    {
      id: 'words',
      name: 'Which',
      left: true,
      value: ({ words }) => words,
      show: ({ words, session }) =>
        session === null ? (
          words
        ) : (
          <Button look="quiet" onPress={() => onSession(session)}>
            {words}
          </Button>
        ),
      look: () => 'cell-words',
    },
    { id: 'who', name: 'Who', left: true, value: ({ who }) => who },
  ]
  return (
    <section className="stack" aria-label="Its life">
      <div className="row row-apart">
        <h3>Its life</h3>
        <Button look="quiet" onPress={onExport}>
          Save as a table
        </Button>
      </div>
      {repairs}
      {drawn.length > 1 && (
        <DotPlot
          label="Deviation from the first calibration"
          xTitle="t90 / °C"
          yTitle="From the first / mK"
          theme={theme}
          withZero
          series={drawn.map(({ date, certificate, points }) => ({
            name: `${date}, ${certificate}`,
            joined: true,
            dots: points.map(({ celsius, differenceMk, expandedMk }) => ({
              key: `${date}${celsius}`,
              x: celsius,
              y: differenceMk,
              bar: expandedMk,
              words: `${date} at ${fixed(celsius, 2)} °C: ${fixed(differenceMk, 2)} mK, U ${fixed(expandedMk, 2)} mK`,
            })),
          }))}
        />
      )}
      {forecast.length > 0 && (
        <Table
          label="Drift foretold"
          rows={forecast}
          columns={forecastColumns}
          rowKey={({ celsius }) => String(celsius)}
        />
      )}
      {advice && <p>{advice.words}</p>}
      <SettlingTimes nights={nights} theme={theme} onSession={onSession} />
      <Table
        label="What happened"
        rows={events.map((e, i) => ({ ...e, key: `${i} ${e.date}` }))}
        columns={columns}
        rowKey={({ key }) => key}
      />
    </section>
  )
}
