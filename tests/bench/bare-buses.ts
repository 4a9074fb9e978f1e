import { once } from 'node:events'
import { connect, type Socket } from 'node:net'
import { SerialPort } from 'serialport'
import { FIRST_ID, TYPE, VERSION, writeMessage } from '../../app/buses/hislip.ts'
import { readRequest, writeRtu, writeTcp } from '../../app/buses/modbus.ts'
import { bytesOf } from '../../app/buses/packets.ts'
import { PORTMAP, writeMapping } from '../../app/buses/portmap.ts'
import { writeCall } from '../../app/buses/rpc.ts'
import { IMPORT, OPERATION, writeBusId, writeOperation, writeSubmit } from '../../app/buses/usbip.ts'
import { MESSAGE, writeAsk, writeBulk } from '../../app/buses/usbtmc.ts'
import { CORE, FLAG, PROCEDURE } from '../../app/buses/vxi11.ts'
import type { LinkSpec } from '../../app/records/bench.ts'

/** The least a program can do on a bus: the same packets again and again, the number read out of the answer. No checks. */
export interface BareBus {
  readonly port: Socket | SerialPort
  readonly question: Uint8Array
  /** For each piece that comes, more to send, or the number, or nothing yet. */
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
      return { port: sync, question, hear: (chunk) => Number(chunk.toString('latin1', 16)) }
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
      return { port: socket, question, hear }
    }
    case 'modbus-tcp': {
      const socket = await open(link.host, link.port)
      const question = writeTcp({ transaction: 1, unit: 1, pdu: readRequest('input', 0, 2) })
      return { port: socket, question, hear: (chunk) => chunk.readFloatBE(9) }
    }
    case 'modbus-rtu': {
      const port = new SerialPort({ path: link.path, baudRate: link.baud ?? 19_200, autoOpen: false })
      await new Promise<void>((resolve, reject) => port.open((error) => (error ? reject(error) : resolve())))
      // A reader stays attached between rounds, as ours does.
      port.on('data', () => undefined)
      const question = writeRtu({ unit: 1, pdu: readRequest('input', 0, 2) })
      let held: Buffer = Buffer.alloc(0)
      const hear = (chunk: Buffer) => {
        held = held.length === 0 ? chunk : Buffer.concat([held, chunk])
        if (held.length < 9) return undefined
        const value = held.readFloatBE(3)
        held = Buffer.alloc(0)
        return value
      }
      return { port, question, hear }
    }
    case 'usbtmc':
      return bareUsb(link)
    default:
      throw new Error(`no bare loop for ${link.kind}`)
  }
}

/** A device over USB/IP: the transfers of one question, one after another; tags and sequence numbers only go round. */
async function bareUsb({ sharedBy, serial }: Extract<LinkSpec, { kind: 'usbtmc' }>): Promise<BareBus> {
  const socket = await open(sharedBy!.host, sharedBy!.port)
  // The bench has two devices in a row; the second is the bare loop's.
  const imported = await reply(socket, writeOperation(OPERATION.askImport, 0, writeBusId('1-2')))
  if (imported.readUInt32BE(4) !== IMPORT.ok) throw new Error(`no USB device ${serial}`)
  const device = 0x1_0002
  const setup = { type: 0, request: 0, value: 0, index: 0, length: 0 }
  const nothing = new Uint8Array(0)
  const out = (sequence: number, data: Uint8Array) =>
    writeSubmit(device, { sequence, endpoint: 1, isIn: false, length: data.length, setup, data })
  const question = out(1, writeBulk(MESSAGE.devDepOut, 1, bytesOf('FETC?\n'), true))
  const ask = out(2, writeAsk(2, 4096))
  const fetch = writeSubmit(device, {
    sequence: 3,
    endpoint: 2,
    isIn: true,
    length: 4608,
    setup,
    data: nothing,
  })
  const hear = (chunk: Buffer) => {
    const sequence = chunk.readUInt32BE(4)
    if (sequence === 1) return ask
    return sequence === 2 ? fetch : Number(chunk.toString('latin1', 60, 60 + chunk.readUInt32LE(52)))
  }
  return { port: socket, question, hear }
}
