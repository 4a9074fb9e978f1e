import { basename } from 'node:path'
import type { SessionInfo, SessionSetup } from '../../app/records/session.ts'

const UNREADABLE = 'not readable any more'

/** Stands for the head of a session whose own cannot be read, so that its readings still can. */
export const unknownInfo = (path: string): SessionInfo => ({
  id: basename(path).replace(/\.[^.]*$/, ''),
  name: UNREADABLE,
  kind: 'recording',
  operator: UNREADABLE,
  startedUtcUs: 0,
  endedUtcUs: null,
  ending: null,
  endingReason: null,
  program: UNREADABLE,
  programVersion: UNREADABLE,
  note: 'The head of this file is damaged.',
})

export const unknownSetup = (): SessionSetup => ({
  bench: { id: 'unknown', name: UNREADABLE, instruments: [], channels: [], scanEveryS: 0 },
  plan: null,
  register: { thermometers: [], resistors: [], instruments: [], fluids: [] },
  profiles: {},
  laboratory: { name: UNREADABLE, address: [], country: 'ZZ' },
  job: null,
})
