import { createConnection } from 'node:net'
import type { Clock } from '../../app/base/clock.ts'
import { takeAddress } from './owners.ts'
import { type Connect, WireFault } from './wire.ts'

export interface TcpAddress {
  readonly host: string
  readonly port: number
  /** Longest wait for the connection. */
  readonly connectMs: number
  /** Who holds the address, for the sentence that refuses a second one. */
  readonly owner: string
}

const KEEP_ALIVE_MS = 10_000
const READ_BYTES = 65_536

/** macOS 15 and later answer so, without a question, for a program that is not let into the local network (Apple TN3179, from memory). */
const MACOS_UNREACHABLE =
  'On macOS also look in System Settings, Privacy & Security, Local Network: the program must be switched on there.'

const SENTENCES: Record<string, (address: string) => string> = {
  ECONNREFUSED: (address) =>
    `${address} refused the connection: is the instrument on, and is this its port number? Some accept one program at a time.`,
  ENOTFOUND: (address) => `${address} has no such host name: check the spelling, or use the numeric address.`,
  EHOSTUNREACH: (address) =>
    `${address} cannot be reached: check cable, switch and network mask.${process.platform === 'darwin' ? ` ${MACOS_UNREACHABLE}` : ''}`,
  ENETUNREACH: (address) => `${address} is on a network this computer is not connected to.`,
  ETIMEDOUT: (address) =>
    `${address} did not answer: check that the instrument is on and its cable plugged in.`,
  ECONNRESET: (address) =>
    `${address} ended the connection (it was switched off, or serves another program).`,
}

/** Connects over TCP: no delay of small packets, keep-alive against half-open connections, a deadline of our own. */
export function tcpConnect(address: TcpAddress, clock: Clock): Connect {
  const name = `${address.host}:${address.port}`
  return (listener, signal) =>
    new Promise((resolve, reject) => {
      const release = takeAddress(`tcp:${name}`, address.owner)
      const socket = createConnection({
        host: address.host,
        port: address.port,
        noDelay: true,
        // One buffer for all reads: what comes is taken out of it at once, which spares the stream's own copying.
        onread: {
          buffer: Buffer.allocUnsafeSlow(READ_BYTES),
          callback: (count, buffer) => {
            if (phase === 'open') listener.data(buffer.subarray(0, count))
            return true
          },
        },
      })
      let phase: 'opening' | 'open' | 'over' = 'opening'
      const finish = (fault: WireFault | undefined) => {
        if (phase === 'over') return
        const before = phase
        phase = 'over'
        deadline.dispose()
        signal.removeEventListener('abort', onAbort)
        socket.destroy()
        release()
        if (fault === undefined) return
        if (before === 'opening') reject(fault)
        else listener.closed(fault)
      }
      const onAbort = () => finish(new WireFault('lost', `connecting to ${name} was given up`))
      const deadline = clock.after(address.connectMs, () => finish(explainTcp('ETIMEDOUT', name)))
      signal.addEventListener('abort', onAbort)
      if (signal.aborted) onAbort()
      // The port under test on the server's side may end its half only; a half-open wire is of no use.
      socket.on('end', () => finish(new WireFault('lost', `${name} ended the connection.`)))
      socket.on('error', (error: NodeJS.ErrnoException) => finish(explainTcp(error.code, name, error)))
      socket.on('close', () => finish(new WireFault('lost', `The connection to ${name} is gone.`)))
      socket.on('connect', () => {
        if (phase !== 'opening') return
        phase = 'open'
        deadline.dispose()
        signal.removeEventListener('abort', onAbort)
        socket.setKeepAlive(true, KEEP_ALIVE_MS)
        resolve({
          write: (bytes) => {
            if (phase === 'open') socket.write(bytes, 'latin1')
          },
          destroy: () => finish(undefined),
        })
      })
    })
}

function explainTcp(code: string | undefined, address: string, cause?: Error): WireFault {
  const sentence =
    SENTENCES[code ?? '']?.(address) ?? `${address}: ${cause?.message ?? code ?? 'connection failed'}`
  return new WireFault('lost', sentence, {}, cause)
}
