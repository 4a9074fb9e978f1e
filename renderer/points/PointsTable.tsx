import type { Point } from '../../app/records/point.ts'
import { Button } from '../parts/Button.tsx'
import { Digits } from '../parts/Digits.tsx'
import { Scroll } from '../parts/Scroll.tsx'
import { fixed } from '../text/numbers.ts'
import { clockTime, utcTime } from '../text/times.ts'
import { type Cell, cellOf, columnDecimals, isLeftOut, KIND_WORDS } from './points.model.ts'

interface Props {
  points: readonly Point[]
  /** Points still to come, by their setpoints. */
  expected: readonly { celsius: number; words: string; at: number }[]
  channels: readonly { id: string; name: string; role: string }[]
  cell: Cell
  onPull: (point: string, channel: string, field: ReturnType<typeof cellOf>['field']) => void
  onLeaveOut: (point: Point) => void
}

/** The table as it fills: a row a point, a column a channel. */
export function PointsTable({ points, expected, channels, cell, onPull, onLeaveOut }: Props) {
  const decimals = new Map(channels.map(({ id }) => [id, columnDecimals(points, id, cell)]))
  return (
    <Scroll label="Table of points" className="points-scroll">
      <table className="table">
        <thead>
          <tr>
            <th scope="col" className="left">
              Point
            </th>
            <th scope="col">Setpoint / °C</th>
            <th scope="col">Taken</th>
            {channels.map(({ id, name }) => (
              <th scope="col" key={id}>
                {name}
              </th>
            ))}
            <th scope="col" className="left">
              Remarks
            </th>
            <th scope="col">
              <span className="unseen">Acts</span>
            </th>
          </tr>
        </thead>
        <tbody>
          {points.map((point, i) => (
            <tr key={point.id} className={isLeftOut(point.marks) ? 'is-out' : ''}>
              <th scope="row">{`${i + 1}${point.label ? ` ${point.label}` : ''}`}</th>
              <td>{fixed(point.setpointC, 2)}</td>
              <td title={utcTime(point.endUtcUs)}>{clockTime(point.endUtcUs)}</td>
              {channels.map(({ id, name, role }) => {
                const used = point.channels.find((c) => c.channel === id)
                if (!used || (cell === 'difference' && role === 'reference')) return <td key={id}>–</td>
                const view = cellOf(used, cell)
                return (
                  <td key={id} className={isLeftOut(used.marks) ? 'faint' : ''}>
                    <Digits
                      decimals={decimals.get(id) ?? 0}
                      value={view.value}
                      u={view.u}
                      unit={view.unit}
                      label={name}
                      onPull={() => onPull(point.id, id, view.field)}
                    />
                  </td>
                )
              })}
              <td className="left">
                {[
                  KIND_WORDS[point.kind],
                  point.settled ? '' : 'taken before it was settled',
                  ...point.marks.map((m) => (m === 'rejected-by-person' ? 'left out' : m)),
                ]
                  .filter(Boolean)
                  .join(', ')}
              </td>
              <td>
                <Button
                  look="quiet"
                  onPress={() => onLeaveOut(point)}
                  label={isLeftOut(point.marks) ? `Take back point ${i + 1}` : `Leave out point ${i + 1}`}
                >
                  {isLeftOut(point.marks) ? 'Take back' : 'Leave out'}
                </Button>
              </td>
            </tr>
          ))}
          {expected.map(({ celsius, words, at }, i) => (
            <tr key={at} className="is-expected-row">
              <th scope="row">{points.length + i + 1}</th>
              <td>{fixed(celsius, 2)}</td>
              <td colSpan={channels.length + 3} className="left faint">
                {words}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </Scroll>
  )
}
