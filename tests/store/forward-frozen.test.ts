import { once } from 'node:events'
import { type AddressInfo, createServer, type Server, type Socket } from 'node:net'
import { join } from 'node:path'
import { describe, expect, it, onTestFinished } from 'vitest'
import { RealClock } from '../../main/station/clocks/real.ts'
import { Forwarder } from '../../main/store/forward/forwarder.ts'
import { MqttTarget } from '../../main/store/forward/mqtt.ts'
import { Outbox } from '../../main/store/forward/outbox.ts'
import { PostgresTarget } from '../../main/store/forward/postgres.ts'
import type { ForwardTarget } from '../../main/store/forward/target.ts'
import { createSessionFile } from '../../main/store/session-file.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { exampleClock, exampleInfo, exampleSetup, scan, temporaryFolder } from './example.ts'

/** Something that takes connections and bytes, and never says a word. */
async function frozen(): Promise<{ port: number; taken: () => number }> {
  const sockets: Socket[] = []
  const server: Server = createServer((socket) => {
    sockets.push(socket)
    socket.on('data', () => undefined)
    socket.on('error', () => undefined)
  }).listen(0, '127.0.0.1')
  await once(server, 'listening')
  onTestFinished(async () => {
    for (const socket of sockets) socket.destroy()
    server.close()
    await once(server, 'close')
  })
  return { port: (server.address() as AddressInfo).port, taken: () => sockets.length }
}

const TARGETS: [string, (port: number) => ForwardTarget][] = [
  ['broker', (port) => new MqttTarget({ url: `mqtt://127.0.0.1:${port}`, topic: 'lab' }, 'station')],
  ['database', (port) => new PostgresTarget(`postgres://lab@127.0.0.1:${port}/postgres`)],
]

describe('Forwarder', () => {
  it.each(TARGETS)(
    'ends within seconds though its %s is frozen',
    async (_, target) => {
      const peer = await frozen()
      const store = openStationStore(join(temporaryFolder(), 'data'), { clock: exampleClock() })
      const path = store.sessionPath('example')
      const file = createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })
      onTestFinished(() => {
        file.close()
        store.close()
      })
      file.commit({ readings: scan(0, 3) })
      const clock = new RealClock()
      const outbox = new Outbox(store, 'test')
      const forwarder = new Forwarder({ outbox, target: target(peer.port), clock })
      forwarder.follow('example', path)
      while (peer.taken() === 0) await clock.sleep(20)
      await clock.sleep(200)
      const from = performance.now()
      await forwarder.close()
      expect(performance.now() - from).toBeLessThan(4_000)
      // Nothing was taken for sent: it comes again.
      expect(outbox.sent('example').seq).toBe(0)
    },
    30_000,
  )
})
