import { utcSecond } from '../../app/base/times.ts'
import type { FitView } from '../../app/contract/studies.ts'
import type { ChannelUnit } from '../../app/live/channel-unit.ts'
import { MARKS } from '../../app/records/mark.ts'
import type { Point } from '../../app/records/point.ts'
import type { LeftOut } from '../../app/results/analysis-input.ts'
import { Button } from '../parts/Button.tsx'
import { Digits } from '../parts/Digits.tsx'
import type { Column } from '../parts/table.column.ts'
import { fixed } from '../text/numbers.ts'
import { clockTime } from '../text/times.ts'
import { decisionWords } from './decided.model.ts'
import { type Cell, cellMeasured, cellOf, columnDecimals, isLeftOut, KIND_WORDS } from './points.model.ts'

/** A point, or the place of one that is still to come. */
export interface PointRow {
  n: number
  celsius: number
  point: Point | null
  at: number
}

export interface PointChannelHead {
  id: string
  name: string
  role: string
  /** Unit in which its bench shows it; absent: as it is read. */
  unit?: ChannelUnit | undefined
}

interface Given {
  points: readonly Point[]
  channels: readonly PointChannelHead[]
  cell: Cell
  fits: readonly FitView[]
  leftOut: readonly LeftOut[]
  onPull: (point: string, channel: string, field: ReturnType<typeof cellOf>['field']) => void
  onLeaveOut: (point: Point) => void
}

const markWords = (mark: string): string => (mark in MARKS ? MARKS[mark as keyof typeof MARKS].words : mark)

function remarks({ point }: PointRow, { leftOut, channels }: Given): string {
  if (!point) return ''
  const decisions = decisionWords(
    point.id,
    leftOut,
    (channel) => channels.find(({ id }) => id === channel)?.name ?? channel,
  )
  const marks = point.marks.filter((mark) => decisions.length === 0 || !isLeftOut([mark]))
  return [
    KIND_WORDS[point.kind],
    point.settled ? '' : 'taken before it was settled',
    ...marks.map(markWords),
    ...decisions,
  ]
    .filter(Boolean)
    .join(', ')
}

/** A column a channel, between what the point is and what is to be said of it. */
export function pointColumns(given: Given): Column<PointRow>[] {
  const { points, channels, cell, onLeaveOut } = given
  const first: Column<PointRow>[] = [
    {
      id: 'point',
      name: 'Point',
      heads: true,
      value: ({ n, point }) => (point?.label ? `${n} ${point.label}` : n),
    },
    {
      id: 'setpoint',
      name: 'Setpoint',
      unit: 'degC',
      value: ({ celsius }) => celsius,
      show: ({ celsius }) => fixed(celsius, 2),
    },
    {
      id: 'taken',
      name: 'Taken',
      about: 'Local time; a copy has the time in UTC',
      value: ({ point }) => (point ? utcSecond(point.endUtcUs) : null),
      show: ({ point }) =>
        point ? <time title={utcSecond(point.endUtcUs)}>{clockTime(point.endUtcUs)}</time> : 'still to come',
    },
  ]
  const unitOf = ({ id, unit }: PointChannelHead) => {
    const used = points.flatMap((point) => point.channels).find((c) => c.channel === id)
    return used ? cellOf(used, cell, unit).unit : ''
  }
  const numbers = channels
    .filter(({ role }) => cell !== 'difference' || role !== 'reference')
    .map((head) => channelColumn(head, unitOf(head), given))
  return [
    ...first,
    ...numbers,
    { id: 'remarks', name: 'Remarks', left: true, value: (row) => remarks(row, given) },
    {
      id: 'acts',
      name: 'Leave out or take back',
      acts: true,
      value: () => null,
      show: ({ point, n }) => point && <LeaveOut point={point} n={n} onPress={onLeaveOut} />,
    },
  ]
}

function channelColumn(
  { id, name, unit: shownIn }: PointChannelHead,
  unit: string,
  { points, cell, fits, onPull }: Given,
): Column<PointRow> {
  const decimals = columnDecimals(points, id, cell, shownIn)
  const fit = fits.find(({ channel }) => channel === id)
  const usedIn = ({ point }: PointRow) => point?.channels.find((c) => c.channel === id)
  return {
    id,
    name,
    unit,
    value: (row) => {
      const used = usedIn(row)
      return used ? cellOf(used, cell, shownIn).value : null
    },
    measured: (row) => {
      const used = usedIn(row)
      return used
        ? cellMeasured(
            used,
            cell,
            fit?.points.find((p) => p.point === row.point?.id),
            shownIn,
          )
        : null
    },
    look: (row) => (isLeftOut(usedIn(row)?.marks ?? []) ? 'faint' : ''),
    show: (row) => {
      const used = usedIn(row)
      if (!used || !row.point) return row.point ? '–' : ''
      const { value, u, unit: own, field } = cellOf(used, cell, shownIn)
      return (
        <Digits
          bare
          decimals={decimals}
          value={value}
          u={u}
          unit={own}
          label={`${name}, point ${row.n}`}
          onPull={() => onPull(row.point!.id, id, field)}
        />
      )
    },
  }
}

function LeaveOut({ point, n, onPress }: { point: Point; n: number; onPress: (point: Point) => void }) {
  const out = isLeftOut(point.marks)
  return (
    <Button
      right="operate"
      look="quiet"
      onPress={() => onPress(point)}
      label={out ? `Take back point ${n}` : `Leave out point ${n}`}
    >
      {out ? 'Take back' : 'Leave out'}
    </Button>
  )
}
