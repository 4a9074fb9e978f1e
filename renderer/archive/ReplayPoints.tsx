import { utcSecond } from '../../app/base/times.ts'
import { type ChannelUnit, celsiusAs } from '../../app/live/channel-unit.ts'
import type { Point } from '../../app/records/point.ts'
import { Table } from '../parts/Table.tsx'
import type { Column } from '../parts/table.column.ts'
import { fixed, significant } from '../text/numbers.ts'
import { clockTime } from '../text/times.ts'

export interface ReplayPoint {
  n: number
  point: Point
  /** Mean temperature of the reference, its drift and spread while the point was taken. */
  reference: Point['channels'][number] | undefined
}

const number = (value: number | null | undefined, words: (n: number) => string): string =>
  value === null || value === undefined ? '–' : words(value)

const columnsIn = (unit: ChannelUnit): readonly Column<ReplayPoint>[] => [
  { id: 'n', name: 'Point', heads: true, value: ({ n }) => n },
  {
    id: 'setpoint',
    name: 'Setpoint',
    unit: 'degC',
    value: ({ point }) => point.setpointC,
    show: ({ point }) => fixed(point.setpointC, 2),
  },
  {
    id: 'taken',
    name: 'Taken',
    value: ({ point }) => utcSecond(point.endUtcUs),
    show: ({ point }) => <time title={utcSecond(point.endUtcUs)}>{clockTime(point.endUtcUs)}</time>,
  },
  {
    id: 'reference',
    name: 'Reference',
    unit,
    value: ({ reference }) => (reference?.t90C == null ? null : celsiusAs(reference.t90C, unit)),
    show: ({ reference }) => number(reference?.t90C, (n) => fixed(celsiusAs(n, unit), 4)),
  },
  {
    id: 'spread',
    name: 'Standard deviation',
    unit: 'mK',
    value: ({ reference }) => reference?.sdMk ?? null,
    show: ({ reference }) => number(reference?.sdMk, (n) => significant(n, 2)),
  },
  {
    id: 'drift',
    name: 'Drift',
    unit: 'mK/min',
    value: ({ reference }) => reference?.driftMkPerMin ?? null,
    show: ({ reference }) => number(reference?.driftMkPerMin, (n) => significant(n, 2)),
  },
]

interface Props {
  points: readonly ReplayPoint[]
  /** Unit of temperature in which the reference is shown. */
  unit: ChannelUnit
}

/** The points taken up to the moment. */
export function ReplayPoints({ points, unit }: Props) {
  if (points.length === 0) return <p className="faint">No point has been taken yet.</p>
  return (
    <Table label="Points so far" rows={points} columns={columnsIn(unit)} rowKey={({ point }) => point.id} />
  )
}
