import { existsSync } from 'node:fs'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { Writable } from 'node:stream'
import { RealClock } from '../station/clocks/real.ts'
import { StationError } from '../station/station-error.ts'
import { openStationStore, type StationStore } from '../store/station-store.ts'
import type { Act } from './checks.ts'

const PASSWORD_VARIABLE = 'STILLPOINT_CUSTODIAN_PASSWORD'

/** A data folder that a command works on: never made by the way, for a mistyped path would begin a new station. */
export function openExistingStore(folder: string, mode: 'read' | 'write'): StationStore {
  if (!existsSync(join(folder, 'station.db'))) {
    throw new StationError(
      'folder-unusable',
      `${folder} holds no station. Check the path given with --data.`,
      {
        folder,
      },
    )
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
 * Lets the custodian of a register act from the command line, as at the window: by name and password, with a reason. Throws
 * StationError 'refused' where any of them is missing or wrong, or the register has no custodian yet.
 */
export async function custodianAct(store: StationStore, claim: Claim): Promise<Act> {
  const { who, why, canAsk, environment = process.env } = claim
  if (!who?.trim() || !why?.trim()) {
    throw new StationError(
      'refused',
      'To write into the register say who you are and why: --who NAME --why TEXT. The ledger keeps both.',
    )
  }
  if (store.custodian() === undefined) {
    throw new StationError(
      'refused',
      'This register has no custodian yet. Name one in the Register place of the window first.',
    )
  }
  const password = environment[PASSWORD_VARIABLE] ?? (canAsk ? await askPassword(who) : undefined)
  if (password === undefined) {
    throw new StationError(
      'refused',
      `The register is changed by its custodian. Give the password in ${PASSWORD_VARIABLE}; it cannot be asked for here.`,
    )
  }
  if (!store.checkCustodian(who, password)) {
    throw new StationError(
      'refused',
      'Name or password are not those of the custodian. Nothing was written into the register.',
    )
  }
  return { who, why }
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
