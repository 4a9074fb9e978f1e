import type { SignOffHolds } from '../../app/report/sign-off.ts'
import { recalledSince } from './laboratory/recalled.ts'
import type { Services } from './services.ts'

/** What stands against a sign-off: what the report says, and what was recalled since the session measured with it. */
export async function signOffHolds(services: Services, session: string): Promise<SignOffHolds> {
  const holds = await services.reports.ask().signOffHolds(session)
  const recalled = recalledSince(services.store, services.sessions.read(session).setup.register)
  return { ...holds, findings: [...holds.findings, ...recalled.map(({ words }) => words)] }
}
