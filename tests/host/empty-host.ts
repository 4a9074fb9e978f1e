import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { type HostedStation, openHostedStation } from '../../main/host/open-station.ts'
import { Services } from '../../main/host/services.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'

export interface EmptyHost {
  readonly folder: string
  readonly clock: VirtualClock
  readonly hosted: HostedStation
  readonly services: Services
  close(): Promise<void>
}

/** A station on an empty folder and a virtual clock, with everything its windows work with. */
export async function openEmptyHost(startUtcUs = Date.UTC(2026, 2, 1, 18) * 1000): Promise<EmptyHost> {
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-host-'))
  const clock = new VirtualClock({ startUtcUs })
  const hosted = await openHostedStation({ folder, clock, clockKind: 'virtual' })
  const services = new Services(hosted)
  return {
    folder,
    clock,
    hosted,
    services,
    async close() {
      await services.close()
      await hosted.close()
      clock.stop()
      rmSync(folder, { recursive: true, force: true })
    },
  }
}
