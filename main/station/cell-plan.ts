import { withCell } from '../../app/checks/cell-said.ts'
import { readSequence } from '../../app/checks/cell-sequence.ts'
import { said } from '../../app/messages/said.ts'
import type { Bench } from '../../app/records/bench.ts'
import type { Cell } from '../../app/records/cell.ts'
import type { CellPlan } from '../../app/records/cell-plan.ts'
import { StationError } from './station-error.ts'

/**
 * Refuses a sequence that the bench or the register cannot serve. Throws StationError 'refused' for a channel that there is not, or
 * one without a resistance thermometer; ComparisonError 'bad-input' for an order without water at both ends, and for a cell
 * that is not in the register or of another fixed point.
 */
export function refuseCellPlan({ channel: id, steps }: CellPlan, bench: Bench, cells: readonly Cell[]): void {
  const channel = bench.channels.find((c) => c.id === id && c.enabled)
  if (!channel) {
    const known = bench.channels.filter((c) => c.enabled).map(({ name }) => name)
    throw new StationError('refused', said('bench-channel-not-in-use', { id, known: known.join(', ') }), {
      channel: id,
    })
  }
  if (channel.thermometer === undefined || channel.junction !== undefined)
    throw new StationError('refused', said('channel-without-thermometer', { channel: channel.name }), {
      channel: id,
    })
  readSequence(steps.map(({ fixedPoint }) => fixedPoint).join(', '))
  for (const step of steps) withCell(step, cells)
}
