import { once } from 'node:events'
import { connect, type Socket } from 'node:net'
import { FIRST_ID, TYPE, VERSION, writeMessage } from '../../app/buses/hislip.ts'
import { readRequest, writeTcp } from '../../app/buses/modbus.ts'
import { bytesOf } from '../../app/buses/packets.ts'
import { PORTMAP, writeMapping } from '../../app/buses/portmap.ts'
import { writeCall } from '../../app/buses/rpc.ts'
import { CORE, FLAG, PROCEDURE } from '../../app/buses/vxi11.ts'
import type { LinkSpec } from '../../app/records/bench.ts'

/** The least a program can do on a bus: the same packets again and again, the number read out of the answer. No checks. */
export interface BareBus {
  /** Sends the question; for each piece that comes, more to send, or the number, or nothing yet. */
  readonly socket: Socket
  readonly question: Uint8Array
  hear(chunk: Buffer): Uint8Array | number | undefined
}

async function open(host: string, port: number): Promise<Socket> {
  const socket = connect({ host, port, noDelay: true })
  await once(socket, 'connect')
  return socket
}

async function reply(socket: Socket, bytes: Uint8Array): Promise<Buffer> {
  socket.write(bytes)
  const [chunk] = (await once(socket, 'data')) as [Buffer]
  return chunk
}

export async function bareBus(link: LinkSpec): Promise<BareBus> {
  switch (link.kind) {
    case 'hislip': {
      const sync = await open(link.host, link.port)
      const hello = writeMessage(TYPE.initialize, 0, VERSION * 0x10000, bytesOf(link.device))
      const session = (await reply(sync, hello)).readUInt16BE(6)
      const side = await open(link.host, link.port)
      await reply(side, writeMessage(TYPE.asyncInitialize, 0, session))
      sync.on('close', () => side.destroy())
      const question = writeMessage(TYPE.dataEnd, 1, FIRST_ID, bytesOf('FETC?\n'))
      return { socket: sync, question, hear: (chunk) => Number(chunk.toString('latin1', 16)) }
    }
    case 'vxi-11': {
      const mapper = await open(link.host, link.portmapper ?? PORTMAP.port)
      const ask = writeCall({ ...PORTMAP, xid: 1, procedure: PORTMAP.procedures.getport }, (into) =>
        writeMapping(into, { ...CORE, protocol: PORTMAP.tcp, port: 0 }),
      )
      const port = (await reply(mapper, ask)).readUInt32BE(28)
      mapper.destroy()
      const socket = await open(link.host, port)
      const make = writeCall({ ...CORE, xid: 2, procedure: PROCEDURE.createLink }, (into) =>
        into.uint(1).bool(false).uint(0).text(link.device),
      )
      const lid = (await reply(socket, make)).readUInt32BE(32)
      const question = writeCall({ ...CORE, xid: 3, procedure: PROCEDURE.deviceWrite }, (into) =>
        into.uint(lid).uint(1000).uint(0).uint(FLAG.end).opaque(bytesOf('FETC?\n')),
      )
      const read = writeCall({ ...CORE, xid: 4, procedure: PROCEDURE.deviceRead }, (into) =>
        into.uint(lid).uint(4096).uint(1000).uint(0).uint(0).uint(0),
      )
      const hear = (chunk: Buffer) =>
        chunk.readUInt32BE(4) === 3 ? read : Number(chunk.toString('latin1', 40, 40 + chunk.readUInt32BE(36)))
      return { socket, question, hear }
    }
    case 'modbus-tcp': {
      const socket = await open(link.host, link.port)
      const question = writeTcp({ transaction: 1, unit: 1, pdu: readRequest('input', 0, 2) })
      return { socket, question, hear: (chunk) => chunk.readFloatBE(9) }
    }
    default:
      throw new Error(`no bare loop for ${link.kind}`)
  }
}
