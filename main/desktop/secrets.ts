import { existsSync, mkdirSync, readFileSync } from 'node:fs'
import { dirname } from 'node:path'
import { z } from 'zod'
import { writeThenRename } from '../store/export/file.ts'
import type { ElectronParts } from './parts.ts'

/** Passwords that the desktop keeps for the station, and what each opens. */
export const SECRETS = {
  'smtp-password': 'the mail server',
  'key-password': 'the signing key',
} as const
export type SecretName = keyof typeof SECRETS

const File = z.record(z.string(), z.string())

/**
 * Passwords the station needs for others (a mail server, say), encrypted by the system's own safe storage. Never written
 * where the system can only obscure them.
 */
export class Secrets {
  readonly #electron: ElectronParts
  readonly #file: string

  constructor(electron: ElectronParts, file: string) {
    this.#electron = electron
    this.#file = file
  }

  /** Throws in words where the system offers no real encryption. */
  set(name: string, secret: string): void {
    const { safeStorage } = this.#electron
    const obscureOnly =
      process.platform === 'linux' && safeStorage.getSelectedStorageBackend() === 'basic_text'
    if (!safeStorage.isEncryptionAvailable() || obscureOnly) {
      throw new Error(
        'This system has no safe place for passwords. Unlock or install its keyring, then enter the password again.',
      )
    }
    const all = this.#read()
    all[name] = safeStorage.encryptString(secret).toString('base64')
    mkdirSync(dirname(this.#file), { recursive: true, mode: 0o700 })
    writeThenRename(this.#file, (out) => out.write(JSON.stringify(all)), 0o600)
  }

  get(name: string): string | undefined {
    const stored = this.#read()[name]
    return stored === undefined
      ? undefined
      : this.#electron.safeStorage.decryptString(Buffer.from(stored, 'base64'))
  }

  /** A secret that cannot be read any more (another user's keyring, say) is as good as none. */
  orNull(name: string, log: (words: string) => void): string | null {
    try {
      return this.get(name) ?? null
    } catch (fault) {
      log(`the kept ${name} cannot be read: ${(fault as Error).message}`)
      return null
    }
  }

  #read(): Record<string, string> {
    return existsSync(this.#file) ? File.parse(JSON.parse(readFileSync(this.#file, 'utf8'))) : {}
  }
}
