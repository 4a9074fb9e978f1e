import type { IncomingMessage, Server } from 'node:http'
import type { Socket } from 'node:net'
import type { Duplex } from 'node:stream'
import { type WebSocket, WebSocketServer } from 'ws'
import { GATE_LIMITS } from '../gate/limits.ts'
import { groupOf } from './group.ts'
import { type Admitted, PROTOCOL, type Role } from './tokens.ts'

export interface UpgradeOptions {
  /** What is known of whoever asks; undefined where no key is shown or the request is not one of our page. */
  admitted: (request: IncomingMessage) => Admitted | undefined
  onWindow: (joined: { window: WebSocket; raw: Socket }, admitted: Admitted) => void
  /** Whether one more window of this kind has room. */
  hasRoom: (admitted: Admitted) => boolean
}

/** Turns requests of our own page into windows. What is refused costs a line of HTTP and nothing else. */
export function acceptWindows(server: Server, options: UpgradeOptions): { close(): void; terminate(): void } {
  const socketsFor = (role: Role) =>
    new WebSocketServer({
      noServer: true,
      maxPayload: GATE_LIMITS[groupOf(role)].largest,
      perMessageDeflate: false,
      handleProtocols: (protocols) => (protocols.has(PROTOCOL) ? PROTOCOL : false),
    })
  const sockets: Record<Role, WebSocketServer> = {
    operator: socketsFor('operator'),
    watcher: socketsFor('watcher'),
  }
  const clients = () => [...sockets.operator.clients, ...sockets.watcher.clients]

  server.on('upgrade', (request: IncomingMessage, socket: Duplex, head: Buffer) => {
    // Whoever resets the connection now must not be heard as a fault of the station.
    socket.on('error', () => socket.destroy())
    const admitted = request.url === '/rpc' ? options.admitted(request) : undefined
    if (admitted === undefined) return refuse(socket, '403 Forbidden')
    if (!options.hasRoom(admitted)) return refuse(socket, '503 Service Unavailable')
    sockets[admitted.role].handleUpgrade(request, socket, head, (window) => {
      // A frame that breaks the protocol closes its own connection, with the code that says so.
      window.on('error', () => undefined)
      options.onWindow({ window, raw: request.socket }, admitted)
    })
  })

  return {
    close() {
      for (const window of clients()) window.close(1001, 'The station has ended.')
    },
    terminate() {
      for (const window of clients()) window.terminate()
    },
  }
}

function refuse(socket: Duplex, status: string): void {
  socket.end(`HTTP/1.1 ${status}\r\nConnection: close\r\nContent-Length: 0\r\n\r\n`, () => socket.destroy())
}
