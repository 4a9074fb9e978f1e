import { createSocket, type Socket as UdpSocket } from 'node:dgram'
import { type Mapping, PORTMAP, readMapping, writeMapping } from '../../app/buses/portmap.ts'
import { type RpcCall, withoutMark, writeReply } from '../../app/buses/rpc.ts'
import { answer, RpcServer, readCallOrNothing } from './rpc-server.ts'

/** A port mapper, version 2 (RFC 1833, 3), over TCP and UDP: it tells where the lab's programs listen, and registers nothing. */
export class PortMapper {
  readonly #host: string
  readonly #mappings: readonly Mapping[]
  readonly #tcp: RpcServer
  #udp: UdpSocket | undefined

  constructor(host: string, mappings: readonly Mapping[]) {
    this.#host = host
    this.#mappings = mappings
    this.#tcp = new RpcServer(host, (call) => this.#handle(call))
  }

  get port(): number {
    return this.#tcp.port
  }

  async open(port: number): Promise<void> {
    await this.#tcp.open(port)
    const udp = createSocket('udp4')
    udp.on('message', (datagram, from) => {
      const call = readCallOrNothing(datagram)
      const reply = call && answer(call, (each) => this.#handle(each))
      if (reply instanceof Uint8Array) udp.send(withoutMark(reply), from.port, from.address)
    })
    try {
      await new Promise<void>((resolve, reject) => {
        udp.once('error', reject)
        udp.bind(this.#tcp.port, this.#host, () => {
          udp.off('error', reject)
          resolve()
        })
      })
    } catch (error) {
      udp.close()
      await this.#tcp.close()
      throw error
    }
    this.#udp = udp
  }

  async close(): Promise<void> {
    const udp = this.#udp
    this.#udp = undefined
    await this.#tcp.close()
    if (udp) await new Promise<void>((resolve) => udp.close(() => resolve()))
  }

  #handle({ xid, program, version, procedure, args }: RpcCall): Uint8Array {
    if (program !== PORTMAP.program) return writeReply(xid, 'program-unavailable')
    if (version !== PORTMAP.version)
      return writeReply(xid, 'program-mismatch', (into) => into.uint(PORTMAP.version).uint(PORTMAP.version))
    switch (procedure) {
      case PORTMAP.procedures.null:
        return writeReply(xid, 'success')
      case PORTMAP.procedures.getport: {
        const asked = readMapping(args)
        const met = this.#mappings.find(
          (each) =>
            each.program === asked.program &&
            each.version === asked.version &&
            each.protocol === asked.protocol,
        )
        return writeReply(xid, 'success', (into) => into.uint(met?.port ?? 0))
      }
      case PORTMAP.procedures.dump:
        return writeReply(xid, 'success', (into) => {
          for (const mapping of this.#mappings) {
            into.bool(true)
            writeMapping(into, mapping)
          }
          into.bool(false)
        })
      default:
        return writeReply(xid, 'procedure-unavailable')
    }
  }
}
