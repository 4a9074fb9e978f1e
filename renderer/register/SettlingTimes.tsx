import { duration, utcDay } from '../../app/base/times.ts'
import type { BathNight } from '../../app/contract/life.ts'
import { Button } from '../parts/Button.tsx'
import { Table } from '../parts/Table.tsx'
import type { Column } from '../parts/table.column.ts'
import { DotPlot } from '../plots/DotPlot.tsx'
import { fixed } from '../text/numbers.ts'

interface Props {
  nights: readonly BathNight[]
  theme: string
  onSession: (session: string) => void
}

type Row = BathNight['steps'][number] & {
  key: string
  session: string
  name: string
  date: string
  utcUs: number
}

const celsius = (value: number) => `${fixed(value, 1)} °C`

/** How long a bath took to its setpoints until it was settled, as the archive tells. */
export function SettlingTimes({ nights, theme, onSession }: Props) {
  const rows = nights.flatMap(({ session, name, startedUtcUs, steps }) =>
    steps.map(
      (step, i): Row => ({
        ...step,
        key: `${session} ${i}`,
        session,
        name,
        date: utcDay(startedUtcUs),
        utcUs: startedUtcUs,
      }),
    ),
  )
  if (rows.length === 0) return null
  const columns: Column<Row>[] = [
    {
      id: 'session',
      name: 'Session',
      heads: true,
      value: ({ utcUs }) => utcUs,
      show: ({ session, name, date }) => (
        <Button look="quiet" onPress={() => onSession(session)}>
          {`${date}, ${name}`}
        </Button>
      ),
      look: () => 'cell-words',
    },
    {
      id: 'from',
      name: 'From',
      unit: 'degC',
      value: ({ fromC }) => fromC,
      show: ({ fromC }) => fixed(fromC, 1),
    },
    { id: 'to', name: 'To', unit: 'degC', value: ({ toC }) => toC, show: ({ toC }) => fixed(toC, 1) },
    { id: 'took', name: 'Settled after', value: ({ tookS }) => tookS, show: ({ tookS }) => duration(tookS) },
    {
      id: 'tau',
      name: 'Time constant',
      value: ({ timeConstantS }) => timeConstantS,
      show: ({ timeConstantS }) => (timeConstantS === null ? null : duration(timeConstantS)),
    },
  ]
  return (
    <>
      {rows.length > 1 && (
        <DotPlot
          label="Time until it was settled"
          xTitle="Setpoint / °C"
          yTitle="Settled after / min"
          theme={theme}
          height={220}
          withZero
          series={(['up', 'down'] as const).flatMap((way) => {
            const own = rows.filter(({ fromC, toC }) => toC > fromC === (way === 'up'))
            return own.length === 0
              ? []
              : [
                  {
                    name: way === 'up' ? 'From below' : 'From above',
                    dots: own.map(({ key, date, fromC, toC, tookS }) => ({
                      key,
                      x: toC,
                      y: tookS / 60,
                      words: `${date}: from ${celsius(fromC)} to ${celsius(toC)} in ${duration(tookS)}`,
                    })),
                  },
                ]
          })}
        />
      )}
      <Table label="Settling times" rows={rows} columns={columns} rowKey={({ key }) => key} />
    </>
  )
}
