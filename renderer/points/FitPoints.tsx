import { useState } from 'react'
import type { FitView } from '../../app/contract/studies.ts'
import type { PointChannel } from '../../app/records/point.ts'
import { Table } from '../parts/Table.tsx'
import { fixed } from '../text/numbers.ts'
import { Budget } from './Budget.tsx'
import { fitColumns } from './fit-columns.tsx'
import type { PullField } from './points.model.ts'

interface Props {
  fit: FitView
  /** What the channel gave to a point, for the digits of its signal. */
  used: (point: string) => PointChannel | undefined
  onPull: (point: string, field: PullField) => void
  onLeaveOut: (point: string) => void
}

/** Each point as the fit saw it, with its budget under it. */
export function FitPoints({ fit, used, onPull, onLeaveOut }: Props) {
  const [open, setOpen] = useState<string | null>(null)
  const columns = fitColumns({ fit, used, onPull, onLeaveOut, open, onOpen: setOpen })
  return (
    <Table
      label="Points of this fit"
      rows={fit.points}
      columns={columns}
      rowKey={({ point }) => point}
      rowLook={({ included }) => (included ? '' : 'is-out')}
      below={(p) =>
        open === p.point && (
          <Budget
            label={`Budget at ${fixed(p.celsius, 3)} °C`}
            lines={p.budget}
            expandedMk={p.expandedMk}
            k={p.k}
          />
        )
      }
    />
  )
}
