import { useEffect, useMemo, useRef } from 'react'
import type { FitView } from '../../app/contract/studies.ts'
import type { Point } from '../../app/records/point.ts'
import type { LeftOut } from '../../app/results/analysis-input.ts'
import { Table } from '../parts/Table.tsx'
import { type PointChannelHead, type PointRow, pointColumns } from './point-columns.tsx'
import { type Cell, type CellView, isLeftOut, withoutValues } from './points.model.ts'

interface Props {
  points: readonly Point[]
  /** Points still to come, by their setpoints. */
  expected: readonly { celsius: number; at: number }[]
  channels: readonly PointChannelHead[]
  cell: Cell
  fits: readonly FitView[]
  leftOut: readonly LeftOut[]
  /** Point that the address names. */
  addressed: string | null
  onPull: (point: string, channel: string, field: CellView['field']) => void
  onLeaveOut: (point: Point) => void
}

const look = ({ point }: PointRow, addressed: string | null): string =>
  point
    ? [isLeftOut(point.marks) && 'is-out', point.id === addressed && 'is-addressed'].filter(Boolean).join(' ')
    : 'is-expected-row'

/** The table as it fills: a row a point, a column a channel. */
export function PointsTable(props: Props) {
  const { points, expected, channels, cell, fits, leftOut, addressed, onPull, onLeaveOut } = props
  const host = useRef<HTMLDivElement>(null)
  useEffect(() => {
    if (addressed !== null) host.current?.querySelector('.is-addressed')?.scrollIntoView({ block: 'center' })
  }, [addressed])
  const taken = useMemo(() => pointRows(points), [points])
  const coming = expected.map(({ celsius, at }, i) => ({
    n: points.length + i + 1,
    celsius,
    point: null,
    at,
  }))
  const columns = pointColumns({ points, channels, cell, fits, leftOut, onPull, onLeaveOut })
  const without = withoutValues(points, channels, cell)
  return (
    <div ref={host} className="stack">
      <Table
        label="Table of points"
        className="points-scroll"
        rows={taken}
        last={coming}
        columns={columns}
        rowKey={({ point, at }) => point?.id ?? `to come ${at}`}
        rowLook={(row) => look(row, addressed)}
      />
      {without.length > 0 && <p className="faint">{withoutWords(without)}</p>}
    </div>
  )
}

export const pointRows = (points: readonly Point[]): PointRow[] =>
  points.map((point, i) => ({ n: i + 1, celsius: point.setpointC, point, at: point.endUtcUs }))

const NAMED = 4

function withoutWords(names: readonly string[]): string {
  const list = names.slice(0, NAMED).join(', ')
  const more = names.length > NAMED ? ` and ${names.length - NAMED} more` : ''
  const has = names.length === 1 ? 'has' : 'have'
  return `${list}${more} ${has} no calibration in force on the day of this session, and so no temperature: choose Signal or Reference, or see the fit.`
}
