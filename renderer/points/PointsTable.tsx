import { useMemo } from 'react'
import type { FitView } from '../../app/contract/studies.ts'
import type { Point } from '../../app/records/point.ts'
import { Table } from '../parts/Table.tsx'
import { type PointChannelHead, type PointRow, pointColumns } from './point-columns.tsx'
import { type Cell, type CellView, isLeftOut } from './points.model.ts'

interface Props {
  points: readonly Point[]
  /** Points still to come, by their setpoints. */
  expected: readonly { celsius: number; at: number }[]
  channels: readonly PointChannelHead[]
  cell: Cell
  fits: readonly FitView[]
  onPull: (point: string, channel: string, field: CellView['field']) => void
  onLeaveOut: (point: Point) => void
}

const look = ({ point }: PointRow): string =>
  point ? (isLeftOut(point.marks) ? 'is-out' : '') : 'is-expected-row'

/** The table as it fills: a row a point, a column a channel. */
export function PointsTable({ points, expected, channels, cell, fits, onPull, onLeaveOut }: Props) {
  const taken = useMemo(() => pointRows(points), [points])
  const coming = expected.map(({ celsius, at }, i) => ({
    n: points.length + i + 1,
    celsius,
    point: null,
    at,
  }))
  const columns = pointColumns({ points, channels, cell, fits, onPull, onLeaveOut })
  return (
    <Table
      label="Table of points"
      className="points-scroll"
      rows={taken}
      last={coming}
      columns={columns}
      rowKey={({ point, at }) => point?.id ?? `to come ${at}`}
      rowLook={look}
    />
  )
}

export const pointRows = (points: readonly Point[]): PointRow[] =>
  points.map((point, i) => ({ n: i + 1, celsius: point.setpointC, point, at: point.endUtcUs }))
