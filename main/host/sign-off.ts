import { said } from '../../app/messages/said.ts'
import type { Person } from '../../app/records/person.ts'
import { StationError } from '../station/station-error.ts'
import type { Services } from './services.ts'

/** A signature is given with the password once more; whoever tries the lab has none. Throws StationError 'refused'. */
export async function needPassword(
  services: Services,
  signer: Person,
  password: string,
  from: unknown,
): Promise<void> {
  if (signer.practice) return
  const person = await services.people.check(signer.name, password, from)
  if (person?.id !== signer.id)
    throw new StationError('refused', said('password-wrong-not-signed', { signer: signer.name }))
}

/** Nothing is signed over a record that is not whole. Throws StationError 'refused'. */
export async function needWhole(services: Services, session: string): Promise<void> {
  const { store, reader } = services
  const { whole, words } = await reader
    .long()
    .verify(store.sessionPath(session), { anchors: store.anchors(session) })
  if (!whole) throw new StationError('refused', said('sign-record-not-whole', { words }))
}

/** Where the laboratory wants two persons, who measured does not sign. Throws StationError 'refused'. */
export function needAnother(services: Services, session: string, signer: Person): void {
  if (services.settings().measurerMaySign) return
  const { info } = services.sessions.read(session)
  if (info.operator === signer.name)
    throw new StationError('refused', said('own-work-not-signed', { signer: signer.name }))
}

/** A decision is about a point that there is. Throws StationError 'refused'. */
export function needPoint(
  services: Services,
  session: string,
  point: string,
  channel: string | undefined,
): void {
  const found = services.sessions
    .read(session)
    .points()
    .find(({ id }) => id === point)
  if (!found) throw new StationError('refused', said('no-such-point', { point }))
  if (channel !== undefined && !found.channels.some((one) => one.channel === channel))
    throw new StationError('refused', said('no-such-channel-at-point', { channel, point }))
}
