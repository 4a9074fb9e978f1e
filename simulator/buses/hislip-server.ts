import { createServer, type Server, type Socket } from 'node:net'
import {
  FATAL,
  type HislipMessage,
  messageCutter,
  TYPE,
  VERSION,
  writeMessage,
} from '../../app/buses/hislip.ts'
import { bytesOf, textOf } from '../../app/buses/packets.ts'
import { listenAnywhere } from '../instruments/any-port.ts'
import type { HislipDevice } from './hislip-device.ts'
import { HislipSession } from './hislip-session.ts'

/** Largest payload taken. */
const LARGEST = 2 ** 20
/** Vendor of the lab: two letters that no vendor has registered (from memory). */
const VENDOR = 0x7979

/** One port with HiSLIP; the instruments behind it are told apart by their sub-addresses. */
export class HislipServer {
  readonly #host: string
  readonly #devices = new Map<string, HislipDevice>()
  readonly #sessions = new Map<number, HislipSession>()
  readonly #sockets = new Set<Socket>()
  #server: Server | undefined
  #next = 1
  #port = 0

  constructor(host: string) {
    this.#host = host
  }

  get port(): number {
    return this.#port
  }

  add(device: HislipDevice): void {
    this.#devices.set(device.name, device)
  }

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

  #listen(port: number): Promise<void> {
    const server = createServer({ noDelay: true }, (socket) => this.#welcome(socket))
    return new Promise((resolve, reject) => {
      server.once('error', reject)
      server.listen(port, this.#host, () => {
        server.off('error', reject)
        this.#server = server
        resolve()
      })
    })
  }

  #welcome(socket: Socket): void {
    this.#sockets.add(socket)
    let hear: ((message: HislipMessage) => void) | undefined
    const refuse = (code: number, words: string) => {
      socket.end(writeMessage(TYPE.fatalError, code, 0, bytesOf(words)))
    }
    const cutter = messageCutter(LARGEST, (message) => {
      if (hear !== undefined) hear(message)
      else if (message.type === TYPE.initialize) hear = this.#begin(socket, message, refuse)
      else if (message.type === TYPE.asyncInitialize) hear = this.#join(socket, message, refuse)
      else refuse(FATAL.badInitialization, 'a session begins with Initialize')
    })
    socket.on('data', (bytes) => {
      try {
        cutter.push(bytes)
      } catch (fault) {
        refuse(FATAL.badHeader, (fault as Error).message)
      }
    })
    socket.on('error', () => socket.destroy())
    socket.on('close', () => this.#sockets.delete(socket))
  }

  #begin(
    socket: Socket,
    message: HislipMessage,
    refuse: (code: number, words: string) => void,
  ): ((message: HislipMessage) => void) | undefined {
    const device = this.#devices.get(textOf(message.payload) || 'hislip0')
    if (!device?.isThere) {
      refuse(FATAL.badInitialization, `there is no ${textOf(message.payload)} here`)
      return undefined
    }
    const id = this.#next
    this.#next = (this.#next % 0xffff) + 1
    const session = new HislipSession(device, socket, LARGEST)
    this.#sessions.set(id, session)
    device.sessions.add(session)
    socket.on('close', () => {
      this.#sessions.delete(id)
      session.end()
    })
    // The lower of the two versions; synchronized mode is preferred (control code 0).
    const version = Math.min(message.parameter >>> 16, VERSION)
    socket.write(writeMessage(TYPE.initializeResponse, 0, version * 0x10000 + id))
    return (each) => session.hearSync(each)
  }

  #join(
    socket: Socket,
    message: HislipMessage,
    refuse: (code: number, words: string) => void,
  ): ((message: HislipMessage) => void) | undefined {
    const session = this.#sessions.get(message.parameter)
    if (session === undefined || session.isJoined) {
      refuse(FATAL.badInitialization, 'there is no such session to join')
      return undefined
    }
    session.join(socket)
    socket.on('close', () => session.end())
    socket.write(writeMessage(TYPE.asyncInitializeResponse, 0, VENDOR))
    return (each) => session.hearAsync(each)
  }
}
