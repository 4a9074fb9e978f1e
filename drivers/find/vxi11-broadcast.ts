import { createSocket } from 'node:dgram'
import type { Clock, StopSignal } from '../../app/base/clock.ts'
import { PORTMAP, writeMapping } from '../../app/buses/portmap.ts'
import { readReply, withoutMark, writeCall } from '../../app/buses/rpc.ts'
import { CORE } from '../../app/buses/vxi11.ts'
import { resultOf } from '../link/rpc-channel.ts'

export interface BroadcastSearch {
  readonly clock: Clock
  readonly ms: number
  /** Broadcast addresses of the networks that a person has named. */
  readonly networks: readonly string[]
  /** Port of the port mappers; 111 everywhere but in a laboratory without the right to it. */
  readonly port?: number | undefined
  readonly signal?: StopSignal | undefined
  readonly onHeard?: ((hosts: readonly string[]) => void) | undefined
}

/**
 * Asks all computers of some networks whether they have instruments with VXI-11: a call of the port mapper for the port of
 * its core channel, sent once to each broadcast address (RFC 1833, 3; that instruments are found so: VXI-11 practice, from
 * memory). The hosts that have one.
 */
export async function searchVxi11(search: BroadcastSearch): Promise<string[]> {
  const { clock, ms, networks, port = PORTMAP.port, signal, onHeard } = search
  if (networks.length === 0) return []
  const xid = Math.trunc(clock.now().monoUs) >>> 0
  const { procedures, program, version } = PORTMAP
  const call = withoutMark(
    writeCall({ xid, program, version, procedure: procedures.getport }, (into) =>
      writeMapping(into, { ...CORE, protocol: PORTMAP.tcp, port: 0 }),
    ),
  )
  const hosts = new Set<string>()
  const socket = createSocket('udp4')
  const ended = new AbortController()
  const stop = () => ended.abort(new Error('the search has ended'))
  socket.on('message', (datagram, from) => {
    const reply = readReply(datagram)
    if (reply?.xid !== xid) return
    const answered = resultOf(reply, (results) => results.uint())
    if (answered === undefined || answered === 0) return
    hosts.add(from.address)
    onHeard?.([...hosts])
  })
  try {
    await new Promise<void>((resolve, reject) => {
      // Also of an error that comes later, which ends nothing any more.
      socket.on('error', reject)
      socket.bind(0, () => resolve())
    })
    socket.setBroadcast(true)
    // A network that is not there cannot be asked; the others are.
    for (const network of networks) socket.send(call, port, network, () => undefined)
    signal?.addEventListener('abort', stop)
    if (signal?.aborted === true) stop()
    await clock.sleep(ms, ended.signal).catch(() => undefined)
  } finally {
    signal?.removeEventListener('abort', stop)
    socket.close()
  }
  return [...hosts]
}
