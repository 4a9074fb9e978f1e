import type { SessionSetup } from '../../app/records/session.ts'

/** What a person says of a session before it begins. */
export interface StartDraft {
  name: string
  jobNumber: string
  customer: string
  /** Lines of it. */
  customerAddress: string
  /** When the items under test came in: 2026-03-01, or empty. */
  received: string
  remarks: string
  note: string
}

export const EMPTY_START: StartDraft = {
  name: '',
  jobNumber: '',
  customer: '',
  customerAddress: '',
  received: '',
  remarks: '',
  note: '',
}

/** What the report says of the order, or null where nobody has said anything of it. */
export function jobOf(draft: StartDraft): SessionSetup['job'] {
  const { jobNumber, customer, received } = draft
  const lines = (text: string) =>
    text
      .split('\n')
      .map((line) => line.trim())
      .filter(Boolean)
  const [customerAddress, remarks] = [lines(draft.customerAddress), lines(draft.remarks)]
  if (![jobNumber, customer, received, ...customerAddress, ...remarks].some((text) => text.trim() !== ''))
    return null
  return {
    number: jobNumber.trim(),
    customer: customer.trim(),
    customerAddress,
    ...(received !== '' && { received }),
    remarks,
  }
}
