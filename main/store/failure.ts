import { CodedError, saidBy } from '../../app/base/coded-error.ts'
import type { Said } from '../../app/messages/said.ts'
import { StoreError, type StoreErrorCode } from './errors.ts'

/** What went wrong in a thread, as it crosses to another: an expected refusal with what it said, anything else with its stack. */
export type Failure = { code: StoreErrorCode; said: Said; facts: Record<string, unknown> } | { words: string }

export function failureOf(fault: unknown): Failure {
  if (fault instanceof StoreError) return { code: fault.code, said: saidBy(fault), facts: plain(fault.facts) }
  // Refusals of the other areas have a closed code and a sentence as well.
  if (fault instanceof CodedError)
    return { code: 'refused', said: saidBy(fault), facts: { code: fault.code } }
  return { words: fault instanceof Error ? (fault.stack ?? fault.message) : String(fault) }
}

/** The fault again, on the side that asked. */
export const faultOf = (failure: Failure): Error =>
  'said' in failure ? new StoreError(failure.code, failure.said, failure.facts) : new Error(failure.words)

/** Facts as they can cross to the other thread. */
function plain(facts: Readonly<Record<string, unknown>>): Record<string, unknown> {
  return JSON.parse(JSON.stringify(facts)) as Record<string, unknown>
}
