import { withCell } from '../../app/checks/cell-said.ts'
import { readSequence } from '../../app/checks/cell-sequence.ts'
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
    throw new StationError(
      'refused',
      `The bench has no channel "${id}" in use. Choose one of: ${known.join(', ')}.`,
      { channel: id },
    )
  }
  if (channel.thermometer === undefined || channel.junction !== undefined)
    throw new StationError(
      'refused',
      `${channel.name} reads no resistance thermometer of the register. Put one on the channel on Bench, then begin.`,
      { channel: id },
    )
  readSequence(steps.map(({ fixedPoint }) => fixedPoint).join(', '))
  for (const step of steps) withCell(step, cells)
}
