import { existsSync, readFileSync, writeFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import type { Clock } from '../../app/base/clock.ts'
import { said } from '../../app/messages/said.ts'
import { keepPrivate, PRIVATE_FILE, privateFolder } from '../store/private.ts'
import type { StationStore } from '../store/station-store.ts'
import type { Stamp } from '../study/signing/cms.ts'
import type { Signing } from '../study/signing/issue.ts'
import { SigningError } from '../study/signing/signing-error.ts'

/** Where the key's password is where somebody keeps it for the station: on the desktop its safe storage puts it there. */
export const KEY_PASSWORD_VARIABLE = 'STILLPOINT_KEY_PASSWORD'

/** Where in a station's data folder the key lies with which certificates are signed, encrypted with its password. */
const KEY_FILE = join('keys', 'signing.p12')

/** Loaded by those who sign: what reads keys takes megabytes in the process that measures. */
const keyTools = () => import('../study/signing/key.ts')

/** The laboratory's signing key and its stamping service. Its password is asked for each time, or kept by the desktop; never on disk. */
export class SigningDesk {
  readonly #store: StationStore
  readonly #clock: Pick<Clock, 'now'>

  constructor(store: StationStore, clock: Pick<Clock, 'now'>) {
    this.#store = store
    this.#clock = clock
  }

  get #file(): string {
    return join(this.#store.folder, KEY_FILE)
  }

  get hasKey(): boolean {
    return existsSync(this.#file)
  }

  /** Whether the key opens without somebody typing its password. */
  get keepsPassword(): boolean {
    return this.hasKey && (process.env[KEY_PASSWORD_VARIABLE] ?? '') !== ''
  }

  /** Opens the key with the password that is kept for it. Throws SigningError 'wrong-password' where none is. */
  openKept(): Promise<Signing> {
    const kept = process.env[KEY_PASSWORD_VARIABLE] ?? ''
    if (kept === '') throw new SigningError('wrong-password', said('key-password-missing', {}))
    return this.open(kept)
  }

  /** The key as a signer wants it: by the password typed, by the one that is kept, or not at all. */
  async openFor({
    keyPassword,
    keyKept,
  }: {
    keyPassword: string
    keyKept: boolean
  }): Promise<Signing | null> {
    if (keyKept) return this.openKept()
    return keyPassword === '' ? null : this.open(keyPassword)
  }

  /** Takes a key file in, once it opens with its password and is valid today. Returns whose it is. */
  async take(data: Uint8Array, password: string, who: string): Promise<string> {
    const { checkValid, nameOf, readKey } = await keyTools()
    const key = await readKey(data, password)
    checkValid(key, this.#clock.now().utcUs)
    privateFolder(dirname(this.#file))
    writeFileSync(this.#file, data, { mode: PRIVATE_FILE })
    keepPrivate(this.#file)
    const name = nameOf(key.certificate.subject)
    this.#store.appendLedger({
      who,
      what: 'signing key taken',
      subject: 'signing',
      old: null,
      new: name,
      why: '',
    })
    return name
  }

  /** Opens the key. Throws SigningError 'no-key' | 'wrong-password' | 'key-expired' and the like. */
  async open(password: string): Promise<Signing> {
    if (!this.hasKey) {
      throw new SigningError('no-key', said('no-signing-key', {}))
    }
    const { checkValid, readKey } = await keyTools()
    const key = await readKey(readFileSync(this.#file), password)
    checkValid(key, this.#clock.now().utcUs)
    const url = this.#store.settings()?.stampUrl ?? null
    return { key, ...(url !== null && { stamp: this.#stampFrom(url) }) }
  }

  /** A stamp where the service answers; none, to be asked for later, where it does not. */
  #stampFrom(url: string): Stamp {
    return async (data) => {
      const { askStamp } = await import('../study/signing/time-stamp.ts')
      try {
        return await askStamp(url, data, this.#clock.now().utcUs)
      } catch (fault) {
        if (fault instanceof SigningError && fault.code === 'stamp-unreachable') return null
        throw fault
      }
    }
  }
}
