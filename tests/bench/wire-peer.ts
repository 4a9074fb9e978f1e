import { type AddressInfo, createServer } from 'node:net'
import { SerialPort } from 'serialport'

/**
 * The far end of the wire bench, in a process of its own: answers every line with one number. `serial PATH` answers on
 * that serial port; `tcp COUNT MS` listens on so many ports of loopback and says on which.
 */
const REPLY = '+2.551234568E-01\n'
const LF = 0x0a

function answer(chunk: Uint8Array, write: (reply: string) => void): void {
  for (const byte of chunk) if (byte === LF) write(REPLY)
}

const [kind, where = '', delayMs = '0'] = process.argv.slice(2)
/** Answers at once, or after the time an instrument takes. */
function later(write: () => void): void {
  if (delayMs === '0') write()
  else setTimeout(write, Number(delayMs))
}

if (kind === 'tcp') {
  const servers = Array.from({ length: Number(where) }, () =>
    createServer({ noDelay: true }, (socket) => {
      socket.on('error', () => socket.destroy())
      socket.on('data', (chunk) => answer(chunk, (reply) => later(() => socket.write(reply))))
    }),
  )
  const ports = servers.map(
    (server) =>
      new Promise<number>((resolve) => {
        server.listen(0, '127.0.0.1', () => resolve((server.address() as AddressInfo).port))
      }),
  )
  process.stdout.write(`${(await Promise.all(ports)).join(' ')}\n`)
} else {
  const port = new SerialPort({ path: where, baudRate: 115_200 }, () => process.stdout.write('open\n'))
  port.on('data', (chunk: Buffer) => answer(chunk, (reply) => port.write(reply)))
}
