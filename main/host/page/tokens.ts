import { createHash, randomBytes, timingSafeEqual } from 'node:crypto'

/** What whoever holds a token may do: work the station, or only look. */
export type Role = 'operator' | 'watcher'

function digest(text: string): Buffer {
  return createHash('sha256').update(text).digest()
}

/** Compares two secrets in a time that tells nothing of where they differ. */
export function isSameSecret(given: string, kept: string): boolean {
  return timingSafeEqual(digest(given), digest(kept))
}

/**
 * The page's keys. A token (in the address's fragment, so that it is in no log) is exchanged once per browser for a
 * cookie; both are random, live only in memory and end with the station. Compared in constant time.
 */
export class Tokens {
  readonly operator = randomBytes(24).toString('base64url')
  readonly watcher = randomBytes(24).toString('base64url')
  readonly #sessions = new Map<string, Role>()

  /** The role a token stands for, or undefined. */
  roleOfToken(token: string): Role | undefined {
    if (isSameSecret(token, this.operator)) return 'operator'
    if (isSameSecret(token, this.watcher)) return 'watcher'
    return undefined
  }

  /** A new cookie value for a role. The oldest is forgotten beyond 200, so that a loop cannot fill memory. */
  openSession(role: Role): string {
    const value = randomBytes(24).toString('base64url')
    this.#sessions.set(digest(value).toString('hex'), role)
    if (this.#sessions.size > 200) {
      const oldest = this.#sessions.keys().next().value
      if (oldest !== undefined) this.#sessions.delete(oldest)
    }
    return value
  }

  roleOfCookie(header: string | undefined): Role | undefined {
    for (const part of (header ?? '').split(';')) {
      const [name, value] = part.trim().split('=')
      if (name === COOKIE && value) return this.#sessions.get(digest(value).toString('hex'))
    }
    return undefined
  }
}

export const COOKIE = 'stillpoint'
