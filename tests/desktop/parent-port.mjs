// Loaded into the core's process before its script: gives a plain Node child the `process.parentPort` of a utility
// process, with message ports carried over the child's own channel.
import { EventEmitter } from 'node:events'

class CarriedPort extends EventEmitter {
  #early = []
  constructor(id) {
    super()
    this.id = id
  }
  /** As the real one: whatever comes before the port is started waits. */
  receive(data) {
    if (this.#early) this.#early.push(data)
    else this.emit('message', { data })
  }
  /** As the real one: only ports may be transferred, and a closed port says nothing any more. */
  postMessage(data, transfer = []) {
    if (!transfer.every((port) => port instanceof CarriedPort))
      throw new TypeError('Invalid value for transfer')
    if (!this.#closed) process.send?.({ port: this.id, data })
  }
  #closed = false
  start() {
    const early = this.#early ?? []
    this.#early = undefined
    for (const data of early) this.emit('message', { data })
  }
  close() {
    this.#closed = true
    process.send?.({ portClosed: this.id })
  }
}

class ParentPort extends EventEmitter {
  postMessage(message) {
    process.send?.({ message })
  }
}

const ports = new Map()
const parentPort = new ParentPort()
process.parentPort = parentPort
process.on('message', (sent) => {
  if ('message' in sent) {
    const carried = (sent.ports ?? []).map((id) => {
      const port = new CarriedPort(id)
      ports.set(id, port)
      return port
    })
    parentPort.emit('message', { data: sent.message, ports: carried })
  } else if ('port' in sent) ports.get(sent.port)?.receive(sent.data)
  else if ('portClosed' in sent) {
    ports.get(sent.portClosed)?.emit('close')
    ports.delete(sent.portClosed)
  }
})
// As a real utility process: it does not outlive the program that forked it.
process.on('disconnect', () => process.exit(0))
