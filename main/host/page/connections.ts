import type { Server, Socket } from 'node:net'

/** Connections that have not shown a key; a browser opens six at once. */
const MOST_STRANGERS = 96

/**
 * Keeps connections that have shown no key few: the oldest of them goes when there are too many, so that whoever holds
 * connections open keeps nobody out.
 */
export class Connections {
  readonly #strangers = new Map<string, Socket>()

  constructor(server: Server) {
    server.on('connection', (socket: Socket) => {
      // A connection that is reset is an everyday thing.
      socket.on('error', () => socket.destroy())
      const key = nameOf(socket)
      this.#strangers.set(key, socket)
      socket.once('close', () => this.#strangers.delete(key))
      if (this.#strangers.size <= MOST_STRANGERS) return
      const [oldest] = this.#strangers
      this.#strangers.delete(oldest![0])
      oldest![1].destroy()
    })
  }

  /** This connection has shown a key. With TLS it is another object than the one that was accepted. */
  known(socket: Pick<Socket, 'remoteAddress' | 'remotePort'>): void {
    this.#strangers.delete(nameOf(socket))
  }
}

const nameOf = ({ remoteAddress, remotePort }: Pick<Socket, 'remoteAddress' | 'remotePort'>) =>
  `${remoteAddress} ${remotePort}`
