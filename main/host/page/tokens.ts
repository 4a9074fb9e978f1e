import { createHash, randomBytes, timingSafeEqual } from 'node:crypto'
import type { IncomingMessage } from 'node:http'

/** What whoever holds a token may do: work the station, or only look. */
export type Role = 'operator' | 'watcher'

/** What a window's key stands for. */
export interface Admitted {
  readonly role: Role
  /** Id of the person who has signed in at the door, where one has to. */
  readonly person?: string
  /** Where the window comes from, beyond this computer. */
  readonly address?: string
}

function digest(text: string): Buffer {
  return createHash('sha256').update(text).digest()
}

/** Compares two secrets in a time that tells nothing of where they differ. */
function isSameSecret(given: string, kept: string): boolean {
  return timingSafeEqual(digest(given), digest(kept))
}

/** Keys kept at once; the oldest is forgotten beyond, so that a loop cannot fill memory. */
const MOST_KEYS = 200

/**
 * The page's keys. A token (in the address's fragment, so that it is in no log) is exchanged once for the key of a window;
 * both are random, live only in memory and end with the station. Compared in constant time.
 *
 * The key is no cookie: browsers send cookies to every port of a host, so a cookie would reach, and be overwritten by, any
 * other program that serves a page on this computer. The window keeps its key where the browser ties it to scheme, host and
 * port, and shows it in the WebSocket's handshake.
 */
export class Tokens {
  readonly operator = randomBytes(24).toString('base64url')
  readonly watcher = randomBytes(24).toString('base64url')
  readonly #keys = new Map<string, Admitted>()

  /** The role a token stands for, or undefined. */
  roleOfToken(token: string): Role | undefined {
    if (isSameSecret(token, this.operator)) return 'operator'
    if (isSameSecret(token, this.watcher)) return 'watcher'
    return undefined
  }

  /** A new key for a window. */
  openKey(admitted: Admitted): string {
    const key = randomBytes(24).toString('base64url')
    this.#keys.set(digest(key).toString('hex'), admitted)
    if (this.#keys.size > MOST_KEYS) this.#keys.delete(this.#keys.keys().next().value!)
    return key
  }

  /** What the key stands for that a window shows when it asks to be joined. */
  admitted(request: IncomingMessage): Admitted | undefined {
    const shown = (request.headers['sec-websocket-protocol'] ?? '')
      .split(',')
      .map((name) => name.trim())
      .find((name) => name.startsWith(KEY))
    return shown === undefined ? undefined : this.#keys.get(digest(shown.slice(KEY.length)).toString('hex'))
  }
}

/** The WebSocket's subprotocol, and the one beside it that carries the key. */
export const PROTOCOL = 'stillpoint'
const KEY = 'key.'
