import type { Socket } from 'node:net'
import {
  DELIVERED,
  FATAL,
  type HislipMessage,
  LOCK,
  NON_FATAL,
  readSize,
  TYPE,
  writeMessage,
  writeSize,
} from '../../app/buses/hislip.ts'
import { bytesOf, textOf } from '../../app/buses/packets.ts'
import type { HislipClient, HislipDevice } from './hislip-device.ts'

/**
 * One client's session with one instrument, in synchronized mode (IVI-6.1, 3.1; from memory): an answer carries the
 * MessageID of the message that asked, and one that was not delivered before the next message came is interrupted.
 */
export class HislipSession implements HislipClient {
  readonly #device: HislipDevice
  readonly #sync: Socket
  readonly #largest: number
  #async: Socket | undefined
  #clientLargest = 272
  /** MessageID of the last message of the client. */
  #lastId = 0
  /** An answer was sent, and the client has not said that it was delivered. */
  #unread = false
  #clearing = false
  /** How often the device was cleared. */
  #cleared = 0
  #ended = false

  constructor(device: HislipDevice, sync: Socket, largest: number) {
    this.#device = device
    this.#sync = sync
    this.#largest = largest
  }

  get isJoined(): boolean {
    return this.#async !== undefined
  }

  join(socket: Socket): void {
    this.#async = socket
  }

  /** Either channel is gone: so is the session. */
  end(): void {
    if (this.#ended) return
    this.#ended = true
    this.#sync.destroy()
    this.#async?.destroy()
    this.#device.forget(this)
  }

  drop(): void {
    this.#sync.resetAndDestroy()
    this.#async?.resetAndDestroy()
  }

  fatal(code: number, words: string): void {
    this.#sync.end(writeMessage(TYPE.fatalError, code, 0, bytesOf(words)))
    this.#async?.end()
  }

  requestService(status: number): void {
    this.#async?.write(writeMessage(TYPE.asyncServiceRequest, status, 0))
  }

  /** Sends one answer to the message heard last, in as many packets as the client's size takes. */
  answer(text: string): void {
    const { desk } = this.#device
    const id = this.#lastId
    const payload = bytesOf(text)
    for (let at = 0; ; at += this.#clientLargest) {
      const last = at + this.#clientLargest >= payload.length
      // The instruments send END with their new line: an answer that broke off has neither.
      const type = last && text.endsWith('\n') ? TYPE.dataEnd : TYPE.data
      const part = payload.subarray(at, at + this.#clientLargest)
      desk.sendPacket(
        writeMessage(type, 0, id, part),
        () => writeMessage(type, 0, (id - 64) >>> 0, part),
        (bytes) => {
          if (!this.#sync.destroyed) this.#sync.write(bytes)
        },
      )
      if (last) break
    }
    this.#unread = true
  }

  hearSync(message: HislipMessage): void {
    if (!this.isJoined) {
      this.fatal(FATAL.channelsNotEstablished, 'the asynchronous channel is missing')
      return
    }
    const { type, control, parameter } = message
    if (type === TYPE.deviceClearComplete) {
      this.#clearing = false
      this.#unread = false
      this.#sync.write(writeMessage(TYPE.deviceClearAcknowledge, 0, 0))
      return
    }
    if (this.#clearing) return
    if (type !== TYPE.data && type !== TYPE.dataEnd && type !== TYPE.trigger) {
      this.#unknown(this.#sync, type)
      return
    }
    if (this.#unread && (control & DELIVERED) === 0) this.#interrupt(parameter)
    this.#unread = false
    const text = textOf(message.payload)
    const cleared = this.#cleared
    this.#device.lock.whenOpen(this, () => {
      // What waited for the lock is void after a device clear.
      if (this.#ended || cleared !== this.#cleared) return
      this.#lastId = parameter
      if (type === TYPE.trigger) this.#device.trigger()
      else this.#device.hear(this, text, type === TYPE.dataEnd)
    })
  }

  hearAsync(message: HislipMessage): void {
    const { type, control, parameter, payload } = message
    const reply = (answer: number, code: number, value = 0, bytes?: Uint8Array) =>
      this.#async?.write(writeMessage(answer, code, value, bytes))
    switch (type) {
      case TYPE.asyncMaximumMessageSize:
        this.#clientLargest = Math.max(1, Math.min(readSize(payload), this.#largest))
        reply(TYPE.asyncMaximumMessageSizeResponse, 0, 0, writeSize(this.#largest))
        break
      case TYPE.asyncLock:
        this.#lock(control, parameter, textOf(payload), (code) => reply(TYPE.asyncLockResponse, code))
        break
      case TYPE.asyncLockInfo: {
        const { lock } = this.#device
        reply(TYPE.asyncLockInfoResponse, lock.isExclusive ? 1 : 0, lock.holders)
        break
      }
      case TYPE.asyncRemoteLocalControl:
        reply(TYPE.asyncRemoteLocalResponse, 0)
        break
      case TYPE.asyncDeviceClear:
        this.#clearing = true
        this.#cleared += 1
        this.#unread = false
        this.#device.clear()
        reply(TYPE.asyncDeviceClearAcknowledge, 0)
        break
      case TYPE.asyncStatusQuery:
        if ((control & DELIVERED) !== 0) this.#unread = false
        reply(TYPE.asyncStatusResponse, this.#device.status(this.#unread))
        break
      default:
        if (this.#async !== undefined) this.#unknown(this.#async, type)
    }
  }

  #lock(control: number, timeoutMs: number, key: string, reply: (code: number) => void): void {
    const { lock } = this.#device
    if (control === LOCK.request) {
      if (key === '' && lock.holds(this) && lock.isExclusive) {
        reply(LOCK.error)
        return
      }
      lock.request(this, key, timeoutMs).then((granted) => {
        if (granted && this.#ended) lock.release(this)
        else reply(granted ? LOCK.success : LOCK.failure)
      })
      return
    }
    const what = lock.release(this)
    reply(what === 'exclusive' ? LOCK.success : what === 'shared' ? LOCK.sharedReleased : LOCK.error)
  }

  #interrupt(id: number): void {
    this.#sync.write(writeMessage(TYPE.interrupted, 0, id))
    this.#async?.write(writeMessage(TYPE.asyncInterrupted, 0, id))
    this.#device.interrupted()
  }

  #unknown(socket: Socket, type: number): void {
    socket.write(
      writeMessage(TYPE.error, NON_FATAL.unknownType, 0, bytesOf(`message type ${type} is not known`)),
    )
  }
}
