import type { Clock, StopSignal } from '../../app/base/clock.ts'

/** Services by which instruments announce themselves, each with what it says of the instrument. */
export const SERVICES = {
  '_lxi._tcp.local': 'lxi',
  '_hislip._tcp.local': 'hislip',
  '_vxi-11._tcp.local': 'vxi-11',
  '_scpi-raw._tcp.local': 'scpi-raw',
} as const
export type Service = (typeof SERVICES)[keyof typeof SERVICES]

/** One service of one instrument, as it was announced. */
export interface Announced {
  readonly service: Service
  /** What the instrument calls itself there. */
  readonly name: string
  /** IPv4 address where it told one, else its name on the network. */
  readonly host: string
  readonly port: number
  /** What it told besides, its keys in small letters. */
  readonly about: Readonly<Record<string, string>>
}

/** Where is asked: the usual group and port on every network, unless a test holds it to loopback. */
export interface MdnsPlace {
  /** Address of the network interface that is used. */
  readonly interface?: string
  /** UDP port; 5353 everywhere but in a test. */
  readonly port?: number
}

export interface MdnsSearch {
  readonly clock: Clock
  /** How long answers are waited for. */
  readonly ms: number
  readonly place?: MdnsPlace | undefined
  /** Ends the search early. */
  readonly signal?: StopSignal | undefined
  /** Told all that is known so far, whenever something was heard. */
  readonly onHeard?: ((found: readonly Announced[]) => void) | undefined
}

/** A socket that is bound to the address of one interface hears nothing that is sent to a group. */
export const GROUP = { bind: '0.0.0.0', reuseAddr: true, loopback: true } as const

/** Asked again while nobody may have heard the first question (RFC 6762, 5.2: the second one a second later). */
const AGAIN_MS = 1000

/**
 * Asks the networks of this computer which instruments announce themselves (RFC 6762 multicast DNS, RFC 6763 service
 * discovery). Nothing is sent to an instrument but the question of the group.
 */
export async function searchMdns({
  clock,
  ms,
  place = {},
  signal,
  onHeard,
}: MdnsSearch): Promise<Announced[]> {
  const book = new Book()
  // Loaded with the first search.
  const { default: makeMdns } = await import('multicast-dns')
  const mdns = makeMdns({ ...GROUP, ...place })
  const failed = new Promise<void>((resolve) => {
    // No network, or none with multicast: then nothing is found that way.
    mdns.on('error', () => resolve())
  })
  mdns.on('response', (packet) => {
    for (const record of [...(packet.answers ?? []), ...(packet.additionals ?? [])]) book.take(record)
    const missing = book.missing()
    if (missing.length > 0) mdns.query(missing)
    onHeard?.(book.announced())
  })
  const ask = () => mdns.query(Object.keys(SERVICES).map((name) => ({ name, type: 'PTR' as const })))
  const ended = new AbortController()
  try {
    ask()
    const again = clock.after(AGAIN_MS, ask)
    const stop = () => ended.abort(new Error('the search has ended'))
    signal?.addEventListener('abort', stop)
    if (signal?.aborted === true) stop()
    await Promise.race([failed, clock.sleep(ms, ended.signal).catch(() => undefined)])
    again.dispose()
    signal?.removeEventListener('abort', stop)
  } finally {
    ended.abort(new Error('the search has ended'))
    await new Promise<void>((resolve) => mdns.destroy(resolve))
  }
  return book.announced()
}

type Heard = { readonly type: string; readonly name: string; readonly data?: unknown }

/** Records as they come in, in whatever order, put together. */
class Book {
  readonly #instances = new Map<string, Service>()
  readonly #places = new Map<string, { target: string; port: number }>()
  readonly #about = new Map<string, Record<string, string>>()
  readonly #addresses = new Map<string, string>()
  readonly #asked = new Set<string>()

  take({ type, name, data }: Heard): void {
    if (type === 'PTR' && typeof data === 'string' && name.toLowerCase() in SERVICES) {
      this.#instances.set(data, SERVICES[name.toLowerCase() as keyof typeof SERVICES])
    } else if (type === 'SRV') {
      const { target, port } = data as { target: string; port: number }
      this.#places.set(name, { target, port })
    } else if (type === 'TXT') this.#about.set(name, aboutOf(data))
    else if (type === 'A' && typeof data === 'string') this.#addresses.set(name.toLowerCase(), data)
  }

  /** Questions for what an answer left out (additional records are a kindness, RFC 6763, 12); each is asked once. */
  missing(): { name: string; type: 'SRV' | 'TXT' | 'A' }[] {
    const wanted = [...this.#instances.keys()].flatMap((name) => {
      const place = this.#places.get(name)
      return [
        ...(place === undefined ? [{ name, type: 'SRV' as const }] : []),
        ...(this.#about.has(name) ? [] : [{ name, type: 'TXT' as const }]),
        ...(place && !this.#addresses.has(place.target.toLowerCase())
          ? [{ name: place.target, type: 'A' as const }]
          : []),
      ]
    })
    return wanted.filter(({ name, type }) => {
      const key = `${type} ${name}`
      if (this.#asked.has(key)) return false
      this.#asked.add(key)
      return true
    })
  }

  announced(): Announced[] {
    return [...this.#instances].flatMap(([instance, service]) => {
      const place = this.#places.get(instance)
      if (place === undefined) return []
      const host = this.#addresses.get(place.target.toLowerCase()) ?? place.target.replace(/\.$/, '')
      const name = instance.replace(/\._[a-z0-9-]+\._tcp\.local\.?$/i, '')
      return [{ service, name, host, port: place.port, about: this.#about.get(instance) ?? {} }]
    })
  }
}

/** "Key=value" strings of a TXT record (RFC 6763, 6). */
function aboutOf(data: unknown): Record<string, string> {
  const parts = (Array.isArray(data) ? data : [data]).map((part) =>
    Buffer.from(part as Uint8Array).toString('utf8'),
  )
  return Object.fromEntries(
    parts.flatMap((part) => {
      const [, key, value] = /^([^=]+)=(.*)$/s.exec(part) ?? []
      return key === undefined ? [] : [[key.toLowerCase(), value!]]
    }),
  )
}
