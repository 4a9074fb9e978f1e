import { SignedNumbers } from '../../../app/report/proof.ts'
import type { SessionFile } from '../../store/session-file.ts'

/** The choices a session's report was signed with, while nothing was decided since that makes a new version; else null. */
export function signedSettings(session: SessionFile): SignedNumbers['settings'] | null {
  const last = session.events({ kinds: ['sign-off', 'amendment', 'decision'] }).at(-1)
  return last?.kind === 'sign-off' ? (signedOf(session)?.settings ?? null) : null
}

/** What the last sign-off keeps of the report that was signed; null where there is none. */
export function signedOf(session: SessionFile): SignedNumbers | null {
  for (const event of session.events({ kinds: ['sign-off'] }).toReversed()) {
    const found = SignedNumbers.safeParse(event.data.report)
    if (found.success) return found.data
  }
  return null
}
