import { existsSync } from 'node:fs'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { Writable } from 'node:stream'
import { said } from '../../app/messages/said.ts'
import { mayDo, RIGHT_WORDS, type Right } from '../../app/records/person.ts'
import { RealClock } from '../station/clocks/real.ts'
import { StationError } from '../station/station-error.ts'
import { isPassword } from '../store/password.ts'
import { openStationStore, type StationStore } from '../store/station-store.ts'
import type { Act } from './checks.ts'

const PASSWORD_VARIABLE = 'STILLPOINT_PASSWORD'

/** A data folder that a command works on: never made by the way, for a mistyped path would begin a new station. */
export function openExistingStore(folder: string, mode: 'read' | 'write'): StationStore {
  if (!existsSync(join(folder, 'station.db'))) {
    throw new StationError('folder-unusable', said('no-station-in-folder', { folder }), {
      folder,
    })
  }
  return openStationStore(folder, { clock: new RealClock(), mode })
}

export interface Claim {
  readonly who: string | undefined
  readonly why: string | undefined
  /** Whether somebody can be asked: standard input is a screen and not taken by requests. */
  readonly canAsk: boolean
  readonly environment?: NodeJS.ProcessEnv
}

/**
 * Lets a person act from the command line, as at the window: by name and password, with a reason, and with the right.
 * Throws StationError 'refused' where any of them is missing or wrong, or nobody has been entered yet.
 */
export async function personAct(store: StationStore, right: Right, claim: Claim): Promise<Act> {
  const { who, why, canAsk, environment = process.env } = claim
  if (!who?.trim() || !why?.trim()) {
    throw new StationError('refused', said('who-and-why-missing', {}))
  }
  const { people } = store
  if (!people.known) {
    throw new StationError('refused', said('nobody-entered', {}))
  }
  const password = environment[PASSWORD_VARIABLE] ?? (canAsk ? await askPassword(who) : undefined)
  if (password === undefined) {
    throw new StationError('refused', said('password-not-given', { variable: PASSWORD_VARIABLE }))
  }
  const person = people.named(who)
  const isRight = await isPassword(password, person && people.passwordOf(person.id))
  if (!person || person.closed !== undefined || !isRight) {
    if (person)
      people.tell({
        who: 'station',
        what: 'sign-in refused',
        subject: person.id,
        why: 'A wrong password was given to a command.',
      })
    throw new StationError('refused', said('sign-in-wrong-not-changed', {}))
  }
  if (!mayDo(person, right))
    throw new StationError(
      'refused',
      said('only-who-may', { right: RIGHT_WORDS[right], person: person.name }),
    )
  return { who: person.name, why }
}

/** Asks on the screen, without showing what is typed. */
export async function askPassword(who: string): Promise<string> {
  const unseen = new Writable({ write: (_chunk, _encoding, done) => done() })
  process.stderr.write(`Password of ${who}: `)
  const lines = createInterface({ input: process.stdin, output: unseen, terminal: true })
  try {
    return await new Promise((resolve) => {
      lines.question('', resolve)
      lines.once('close', () => resolve(''))
    })
  } finally {
    lines.close()
    process.stderr.write('\n')
  }
}
