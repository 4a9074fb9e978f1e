import { createServer, type Server, type Socket } from 'node:net'
import { listenAnywhere } from '../instruments/any-port.ts'

/** What the servers of the lab's buses have in common: one TCP port and its connections. */
export abstract class BusServer {
  readonly #host: string
  readonly #sockets = new Set<Socket>()
  #server: Server | undefined
  #port = 0

  constructor(host: string) {
    this.#host = host
  }

  get port(): number {
    return this.#port
  }

  /** Listens on this port; 0 means any free one. */
  async open(port: number): Promise<void> {
    if (port !== 0) {
      await this.#listen(port)
      this.#port = port
    } else this.#port = await listenAnywhere((any) => this.#listen(any))
  }

  async close(): Promise<void> {
    const server = this.#server
    this.#server = undefined
    for (const socket of this.#sockets) socket.destroy()
    if (server) await new Promise<void>((resolve) => server.close(() => resolve()))
  }

  /** A client has connected. */
  protected abstract welcome(socket: Socket): void

  #listen(port: number): Promise<void> {
    const server = createServer({ noDelay: true }, (socket) => {
      this.#sockets.add(socket)
      socket.on('error', () => socket.destroy())
      socket.on('close', () => this.#sockets.delete(socket))
      this.welcome(socket)
    })
    return new Promise((resolve, reject) => {
      server.once('error', reject)
      server.listen(port, this.#host, () => {
        server.off('error', reject)
        this.#server = server
        resolve()
      })
    })
  }
}
