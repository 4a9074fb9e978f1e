import { createConnection } from 'node:net'
import type { Clock, StopSignal } from '../../app/base/clock.ts'
import { type Said, said } from '../../app/messages/said.ts'
import { takeAddress } from './owners.ts'
import { type ByteWire, type ConnectBytes, WireFault, type WireListener } from './wire.ts'

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
const unreachable = () => (process.platform === 'darwin' ? 'tcp-unreachable-macos' : 'tcp-unreachable')

const WHY: Record<string, (address: string) => Said> = {
  ECONNREFUSED: (address) => said('tcp-refused', { address }),
  ENOTFOUND: (address) => said('tcp-no-such-host', { address }),
  EHOSTUNREACH: (address) => said(unreachable(), { address }),
  ENETUNREACH: (address) => said('tcp-other-network', { address }),
  ETIMEDOUT: (address) => said('tcp-silent', { address }),
  ECONNRESET: (address) => said('tcp-ended', { address }),
}

/** One TCP connection, whatever is spoken over it. */
export interface TcpSocket {
  /** Text goes out one byte for each character. */
  write(bytes: string | Uint8Array): void
  /** Ends it: at once, or after what was written has gone out. Safe to call twice. */
  destroy(): void
  finish(): void
  /** This computer's address on the way there. */
  readonly localAddress: string
}

/** Connects over TCP: no delay of small packets, keep-alive against half-open connections, a deadline of our own. */
export function tcpConnect(address: TcpAddress, clock: Clock): ConnectBytes {
  return (listener, signal) => holdTcp(address, clock, listener, signal)
}

/** As `openTcp`, where the address belongs to one owner. */
async function holdTcp(
  address: TcpAddress,
  clock: Clock,
  listener: WireListener,
  signal: StopSignal,
): Promise<ByteWire> {
  const release = takeAddress(`tcp:${address.host}:${address.port}`, address.owner)
  try {
    const socket = await openTcp(
      address,
      clock,
      {
        data: (chunk) => listener.data(chunk),
        closed: (fault) => {
          release()
          listener.closed(fault)
        },
      },
      signal,
    )
    return {
      write: (bytes) => socket.write(bytes),
      destroy: () => {
        socket.destroy()
        release()
      },
    }
  } catch (fault) {
    release()
    throw fault
  }
}

/** Opens one connection. A chunk handed over is valid during the call only. */
export function openTcp(
  address: Omit<TcpAddress, 'owner'>,
  clock: Clock,
  listener: Pick<WireListener, 'data' | 'closed'>,
  signal: StopSignal,
): Promise<TcpSocket> {
  const name = `${address.host}:${address.port}`
  return new Promise((resolve, reject) => {
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
    const finish = (fault: WireFault | undefined, softly = false) => {
      if (phase === 'over') return
      const before = phase
      phase = 'over'
      deadline.dispose()
      signal.removeEventListener('abort', onAbort)
      if (softly) {
        socket.destroySoon()
        // A far end that takes nothing any more must not keep the program alive.
        socket.unref()
      } else socket.destroy()
      if (fault === undefined) return
      if (before === 'opening') reject(fault)
      else listener.closed(fault)
    }
    const onAbort = () => finish(new WireFault('lost', said('connecting-given-up', { name })))
    const deadline = clock.after(address.connectMs, () => finish(explainTcp('ETIMEDOUT', name)))
    signal.addEventListener('abort', onAbort)
    if (signal.aborted) onAbort()
    // The port under test on the server's side may end its half only; a half-open wire is of no use.
    socket.on('end', () => finish(new WireFault('lost', said('ended-connection', { name }))))
    socket.on('error', (error: NodeJS.ErrnoException) => finish(explainTcp(error.code, name, error)))
    socket.on('close', () => finish(new WireFault('lost', said('connection-gone', { name }))))
    socket.on('connect', () => {
      if (phase !== 'opening') return
      phase = 'open'
      deadline.dispose()
      signal.removeEventListener('abort', onAbort)
      socket.setKeepAlive(true, KEEP_ALIVE_MS)
      resolve({
        write: (bytes) => {
          if (phase !== 'open') return
          if (typeof bytes === 'string') socket.write(bytes, 'latin1')
          else socket.write(bytes)
        },
        destroy: () => finish(undefined),
        finish: () => finish(undefined, true),
        localAddress: socket.localAddress ?? '',
      })
    })
  })
}

function explainTcp(code: string | undefined, address: string, cause?: Error): WireFault {
  const why =
    WHY[code ?? '']?.(address) ??
    said('tcp-trouble', { address, why: cause?.message ?? code ?? 'connection failed' })
  return new WireFault('lost', why, {}, cause)
}
