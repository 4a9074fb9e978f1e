import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { ensurePage } from '../../main/host/built.ts'
import { openHostedStation } from '../../main/host/open-station.ts'
import { servePage } from '../../main/host/page/server.ts'
import { socketWindows } from '../../main/host/router/index.ts'
import { Services } from '../../main/host/services.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'

export interface WholeStation {
  address: string
  services: Services
  close(): Promise<void>
}

/** A real station on an empty folder behind its real page, on a clock that runs a night in a minute or so. */
export async function startWholeStation(speed: number): Promise<WholeStation> {
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-window-'))
  const clock = new VirtualClock({ startUtcUs: Date.now() * 1000, speed })
  const hosted = await openHostedStation({ folder, clock, clockKind: 'virtual' })
  const services = new Services(hosted)
  await hosted.station.open()
  const page = await servePage({ folder: ensurePage(), port: 0, ...socketWindows(services) })
  return {
    address: page.address,
    services,
    async close() {
      await page.close()
      await services.close()
      await hosted.close()
      clock.stop()
      rmSync(folder, { recursive: true, force: true })
    },
  }
}
