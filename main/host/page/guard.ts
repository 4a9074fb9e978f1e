import type { IncomingMessage } from 'node:http'

/** Addresses under which the page may be asked for. Anything else in Host is a foreign name pointed at this computer. */
export class Guard {
  readonly #names: Set<string>
  readonly #scheme: string

  constructor(names: readonly string[], port: number, scheme: 'http' | 'https') {
    this.#names = new Set(names.map((name) => `${name}:${port}`))
    this.#scheme = scheme
  }

  /** Why the request is refused, or undefined. Host defends against DNS rebinding, Origin against other pages. */
  refusal(request: IncomingMessage, needsOrigin: boolean): string | undefined {
    const host = request.headers.host
    if (!host || !this.#names.has(host))
      return 'This address is not one of the station. Open the address that the station printed.'
    const origin = request.headers.origin
    if (origin === undefined) return needsOrigin ? 'A browser must say where it comes from.' : undefined
    if (origin !== `${this.#scheme}://${host}`) return 'Another page may not talk to the station.'
    return undefined
  }
}
