import { connect, type Socket } from 'node:net'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'
import { type Lab, type LabOptions, startLab } from '../../simulator/lab.ts'

/** A bare socket to one instrument of a lab, without any of the station's code. */
export class RawClient {
  readonly socket: Socket
  received = ''
  closed = false
  readonly #waiting = new Set<() => void>()

  private constructor(socket: Socket) {
    this.socket = socket
    socket.on('data', (bytes) => {
      this.received += bytes.toString('latin1')
      this.#wake()
    })
    socket.on('error', () => socket.destroy())
    socket.on('close', () => {
      this.closed = true
      this.#wake()
    })
  }

  static open(lab: Lab, instrument: string): Promise<RawClient> {
    const link = lab.endpoints.find(({ id }) => id === instrument)?.link
    if (link?.kind !== 'tcp') throw new Error(`${instrument} has no TCP port`)
    return new Promise((resolve, reject) => {
      const socket = connect({ port: link.port, host: link.host, noDelay: true })
      socket.once('error', reject)
      socket.once('connect', () => {
        socket.off('error', reject)
        resolve(new RawClient(socket))
      })
    })
  }

  tell(text: string): void {
    this.socket.write(text, 'latin1')
  }

  /** Sends and takes everything up to and with the next `end`. */
  async ask(text: string, end = '\n'): Promise<string> {
    this.tell(text)
    return this.until(end)
  }

  async until(end: string): Promise<string> {
    for (;;) {
      const at = this.received.indexOf(end)
      if (at >= 0) {
        const line = this.received.slice(0, at + end.length)
        this.received = this.received.slice(at + end.length)
        return line
      }
      if (this.closed) throw new Error(`closed with ${JSON.stringify(this.received)} received`)
      await new Promise<void>((resolve) => this.#waiting.add(resolve))
    }
  }

  /** Exactly so many characters. */
  async take(count: number): Promise<string> {
    while (this.received.length < count) {
      if (this.closed) throw new Error(`closed with ${JSON.stringify(this.received)} received`)
      await new Promise<void>((resolve) => this.#waiting.add(resolve))
    }
    const text = this.received.slice(0, count)
    this.received = this.received.slice(count)
    return text
  }

  async gone(): Promise<void> {
    while (!this.closed) await new Promise<void>((resolve) => this.#waiting.add(resolve))
  }

  #wake(): void {
    for (const resolve of this.#waiting) resolve()
    this.#waiting.clear()
  }
}

export interface Bench {
  lab: Lab
  clock: VirtualClock
  client(instrument: string): Promise<RawClient>
  end(): Promise<void>
}

export const START_UTC_US = Date.UTC(2026, 2, 1, 20) * 1000

/** A lab on a virtual clock, and clients that are closed with it. */
export async function virtualLab(options: Partial<LabOptions> = {}): Promise<Bench> {
  const clock = new VirtualClock({ startUtcUs: START_UTC_US })
  const lab = await startLab({ seed: 1, clock, ...options })
  const clients: RawClient[] = []
  return {
    lab,
    clock,
    async client(instrument) {
      const client = await RawClient.open(lab, instrument)
      clients.push(client)
      return client
    },
    async end() {
      for (const client of clients) client.socket.destroy()
      await lab.close()
      clock.stop()
    },
  }
}
