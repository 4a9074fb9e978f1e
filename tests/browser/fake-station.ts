import { fileURLToPath } from 'node:url'
import { RPCHandler } from '@orpc/server/ws'
import type { WebSocket } from 'ws'
import { ensurePage } from '../../main/host/built.ts'
import { servePage } from '../../main/host/page/server.ts'
import { fakeRouter } from './fake/router.ts'
import { type FakeOptions, FakeStation } from './fake/station.ts'

export interface RunningFake {
  /** Address with the token in its fragment. */
  address: string
  station: FakeStation
  /** Cuts every window off and lets none in, as a core that has crashed. */
  crash(): void
  /** A new core behind the same page. */
  revive(options?: Partial<FakeOptions>): void
  close(): Promise<void>
}

/**
 * Serves the built page with a made-up station behind the real door.
 *
 * Made up, because its tests want a certain moment of a night at once and the same in every run: five hours into it, with a
 * fault, with 96 channels at ten readings a second, with a core that crashes and comes back; a real night to each of these
 * takes minutes. What a window does with a real core stands in the tests that start a whole station: the first run, the
 * recording, the import, the checks, and in `soak -- --order`.
 */
export async function startFake(options: Partial<FakeOptions> = {}, port = 0): Promise<RunningFake> {
  const full: FakeOptions = { channels: 8, rateHz: 1, scene: 'running', speed: 1, ...options }
  let station = new FakeStation(full)
  let handler: RPCHandler<Record<never, never>> | undefined = new RPCHandler(fakeRouter(station))
  const windows = new Set<WebSocket>()
  const page = await servePage({
    folder: ensurePage(),
    port,
    onWindow: (socket) => {
      if (!handler) return socket.close(1012)
      windows.add(socket)
      socket.once('close', () => windows.delete(socket))
      void handler.upgrade(socket, { context: {} })
    },
  })
  return {
    address: page.address,
    get station() {
      return station
    },
    crash() {
      handler = undefined
      for (const socket of windows) socket.close(1012)
    },
    revive(changed = {}) {
      station = new FakeStation({ ...full, ...changed })
      handler = new RPCHandler(fakeRouter(station))
    },
    close: () => page.close(),
  }
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const [scene = 'running', channels = '8', rate = '1', speed = '1'] = process.argv.slice(2)
  const fake = await startFake(
    {
      scene: scene as FakeOptions['scene'],
      channels: Number(channels),
      rateHz: Number(rate),
      speed: Number(speed),
    },
    Number(process.env.PORT ?? 0),
  )
  process.stdout.write(`${fake.address}\n`)
}
