import { createServer, type Server, type Socket } from 'node:net'
import { setTimeout as realSleep } from 'node:timers/promises'
import type { FaultKind } from '../faults/order.ts'
import { isTaken, listenAnywhere } from './any-port.ts'
import type { SerialPair } from './serial-pair.ts'

/** Where an instrument answers: a port of its own, or a place on a bus. */
export interface LabPort {
  /** Whether somebody is there to hear an answer. */
  readonly connected: boolean
  open(): Promise<void>
  /** Opens again after it had vanished. */
  reopen(): Promise<void>
  close(): Promise<void>
  /** Breaks the connection. */
  drop(): void
  write(text: string): void
  /** Ends the connection of a client that has said its last and been given its last answer. */
  finishIfDone(): void
  /** What only a bus can do, or do wrong; absent on a plain line. */
  readonly bus?: BusManners
}

/** What a bus has beyond a line. */
export interface BusManners {
  /** Asks for service with a status byte. */
  requestService(status: number): void
  /** Forgets the client's link without telling it, as a gateway that was restarted. */
  dropLink(): void
  /** Another program takes the lock, whoever held it, and gives it back. */
  lockByOther(): void
  unlockByOther(): void
  /** Lets its endpoints refuse every transfer until they are set going again. */
  stall?(): void
  /** What it can do wrong. */
  readonly faults: readonly FaultKind[]
}

export interface PortEvents {
  onBytes(bytes: Buffer): void
  /** The client has gone: what was waiting to be sent is void. */
  onGone(): void
  /** Whether something is still to be sent to the client. */
  isAnswerDue(): boolean
  /** Device clear: what is in hand and what is to be said are void. */
  onClear(): void
  /** Group execute trigger. */
  onTrigger(): void
  /** A new message came before the answer to the last one was read: that answer was thrown away. */
  onInterrupted(): void
  /** The status byte of a serial poll. */
  statusByte(messageAvailable: boolean): number
}

/** One TCP port on loopback that serves one client at a time: a plain line. */
export class InstrumentPort implements LabPort {
  readonly #events: PortEvents
  readonly #host: string
  #server: Server | undefined
  #client: Socket | undefined
  /** The serial cable to it, when it is asked for. */
  #cable: SerialPair | undefined
  #port: number
  #away = false

  constructor(host: string, port: number, events: PortEvents) {
    this.#host = host
    this.#port = port
    this.#events = events
  }

  /** The port it answers on; the same again after it vanished and came back. */
  get number(): number {
    return this.#port
  }

  /** From now on the port is reached through a serial cable, which holds its one connection. */
  async attach(cable: SerialPair): Promise<void> {
    this.#cable = cable
    await cable.start(this.#host, this.#port)
  }

  async open(): Promise<void> {
    if (this.#port === 0) this.#port = await listenAnywhere((port) => this.#listen(port))
    else await this.#listen(this.#port)
    await this.#cable?.start(this.#host, this.#port)
  }

  /** Opens again after it had vanished; waits while somebody else sits on the port. */
  async reopen(): Promise<void> {
    this.#away = false
    while (!this.#away) {
      try {
        await this.open()
        return
      } catch (error) {
        if (!isTaken(error)) throw error
        // The other holder lives in real time, so this wait does too.
        await realSleep(100)
      }
    }
  }

  #listen(port: number): Promise<void> {
    const server = createServer({ noDelay: true, allowHalfOpen: true }, (socket) => this.#welcome(socket))
    return new Promise((resolve, reject) => {
      server.once('error', reject)
      server.listen(port, this.#host, () => {
        server.off('error', reject)
        this.#server = server
        resolve()
      })
    })
  }

  async close(): Promise<void> {
    const server = this.#server
    this.#server = undefined
    this.#away = true
    await this.#cable?.stop()
    this.drop()
    if (server) await new Promise<void>((resolve) => server.close(() => resolve()))
  }

  /** Breaks the connection with a reset, as a pulled cable or a restarted terminal server would. */
  drop(): void {
    // A reset is refused, and the socket left open, once the connection is being ended in the ordinary way.
    if (this.#client?.writableEnded) this.#client.destroy()
    else this.#client?.resetAndDestroy()
  }

  get connected(): boolean {
    return this.#client !== undefined
  }

  /** Ends the connection of a client that has said its last and been given its last answer. */
  finishIfDone(): void {
    if (this.#client?.readableEnded && !this.#events.isAnswerDue()) this.#client.end()
  }

  write(text: string): void {
    if (this.#client === undefined) return
    this.#cable?.left(text.length)
    this.#client.write(text, 'latin1')
  }

  #welcome(socket: Socket): void {
    if (this.#client || !this.#server) {
      socket.destroy()
      return
    }
    this.#client = socket
    socket.on('data', (bytes) => {
      this.#cable?.came(bytes.length)
      this.#events.onBytes(bytes)
    })
    socket.on('end', () => this.finishIfDone())
    // A reset by the peer is an ordinary way for a client to go; 'close' follows and does what is needed.
    socket.on('error', () => socket.destroy())
    socket.on('close', () => {
      if (this.#client !== socket) return
      this.#client = undefined
      this.#events.onGone()
    })
  }
}
