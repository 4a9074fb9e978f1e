import type { Socket } from 'node:net'
import {
  FATAL,
  type HislipMessage,
  messageCutter,
  TYPE,
  VERSION,
  writeMessage,
} from '../../app/buses/hislip.ts'
import { bytesOf, textOf } from '../../app/buses/packets.ts'
import { BusServer } from './bus-server.ts'
import type { HislipDevice } from './hislip-device.ts'
import { HislipSession } from './hislip-session.ts'

/** Largest payload taken. */
const LARGEST = 2 ** 20
/** Vendor of the lab: two letters that no vendor has registered (from memory). */
const VENDOR = 0x7979

/** One port with HiSLIP; the instruments behind it are told apart by their sub-addresses. */
export class HislipServer extends BusServer {
  readonly #devices = new Map<string, HislipDevice>()
  readonly #sessions = new Map<number, HislipSession>()
  #next = 1

  add(device: HislipDevice): void {
    this.#devices.set(device.name, device)
  }

  protected override welcome(socket: Socket): void {
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
