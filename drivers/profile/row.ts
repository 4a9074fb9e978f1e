import type { Instant } from '../../app/base/clock.ts'
import { last } from '../../app/base/lists.ts'
import type { Measured, RowValue } from '../../app/instruments/faces.ts'
import type { ValueRead } from './reply.ts'
import type { Inputs } from './schema.ts'
import { printInput } from './template.ts'

/** The values of one answer, sorted into what was asked for and the rest. */
export interface Row {
  /** The value that was asked for; undefined where the answer has none of that input. */
  readonly own: ValueRead | undefined
  readonly others: readonly RowValue[]
  readonly moments?: NonNullable<Measured['moments']>
}

export interface RowOptions {
  readonly read: ValueRead
  /** The input that was asked for. */
  readonly input: number
  readonly inputs: Inputs | undefined
  /** When the question was sent, and when its answer was there. */
  readonly from: Instant
  readonly at: Instant
}

/**
 * Sorts the values of one answer. Of several inputs all are of one moment, the answer's end. Of several moments the last is
 * what was asked for: their times are those the instrument tells, counted back from the last, or else spread evenly
 * over the exchange, the last at its end.
 */
export function sortRow({ read, input, inputs, from, at }: RowOptions): Row {
  const row = read.row ?? [read]
  const byInput = row.some((each) => each.place !== undefined || each.input !== undefined)
  if (byInput) {
    const placed = row.map((value) => ({ value, input: inputOf(value, inputs) }))
    return {
      own: placed.find((each) => each.input === input)?.value,
      others: placed.flatMap((each) =>
        each.input === undefined || each.input === input
          ? []
          : [{ ...measuredOf(each.value, at), input: each.input }],
      ),
    }
  }
  const own = last(row)
  const told = row.every(({ timeS }) => timeS !== undefined)
  const spanUs = at.monoUs - from.monoUs
  const agoUs = (value: ValueRead, i: number): number =>
    told ? Math.max(0, own.timeS! - value.timeS!) * 1e6 : spanUs * (1 - (i + 1) / row.length)
  return {
    own,
    others: row.slice(0, -1).map((value, i) => measuredOf(value, earlier(at, agoUs(value, i)))),
    moments: told ? 'told' : 'spread',
  }
}

function inputOf(value: ValueRead, inputs: Inputs | undefined): number | undefined {
  if (value.input === undefined || inputs === undefined) return value.place
  for (let input = 1; input <= inputs.count; input++) {
    if (printInput(input, inputs) === value.input) return input
  }
  return undefined
}

const earlier = ({ utcUs, monoUs }: Instant, byUs: number): Instant => {
  const us = Math.round(byUs)
  return { utcUs: utcUs - us, monoUs: monoUs - us }
}

function measuredOf({ value, unit, marks, raw = '' }: ValueRead, at: Instant): RowValue {
  return { raw, value, unit, marks, at }
}
