import { useStore } from 'zustand'
import { createStore } from 'zustand/vanilla'
import { utcDay } from '../../app/base/times.ts'
import type { Settings } from '../../app/contract/settings.ts'
import type { StationState } from '../../app/contract/views.ts'
import { setDecimalSign } from '../text/numbers.ts'
import { heardStation, joining, station, whenJoined } from './connect.ts'
import { reuse } from './reuse.ts'

/** The station's slow state as the window last heard it; undefined until the first word. */
export const stationState = createStore<{ now: StationState | undefined; settings: Settings | undefined }>(
  () => ({
    now: undefined,
    settings: undefined,
  }),
)

export const useStation = <T>(select: (state: StationState | undefined) => T): T =>
  useStore(stationState, ({ now }) => select(now))
/** Whether a session of the laboratory's work runs; a look at the bench gives way to anything. */
export const isWorking = (state: StationState | undefined): boolean =>
  state !== undefined && !['idle', 'ended'].includes(state.runner.phase) && state.session?.look !== true

export const useSettings = (): Settings | undefined => useStore(stationState, ({ settings }) => settings)
export const useJoining = () => useStore(joining)

/** Listens for as long as the page lives; after a loss it listens again. */
export async function watchStation(): Promise<never> {
  let settingsVersion = -1
  for (;;) {
    await whenJoined()
    try {
      for await (const next of await station.station.watch()) {
        heardStation()
        stationState.setState(({ now }) => ({ now: now ? reuse(now, next) : next }))
        if (next.versions.settings !== settingsVersion) {
          settingsVersion = next.versions.settings
          const settings = await station.settings.get()
          setDecimalSign(settings.decimalSign)
          stationState.setState({ settings })
        }
      }
    } catch {
      // The link ended; `joining` says so, and the next round listens anew.
    }
    await new Promise((resolve) => setTimeout(resolve, 200))
  }
}

/** Today by the station's clock, from which due dates are counted and with which forms begin. */
export const useToday = () => useStation((state) => utcDay(state?.utcUs ?? Date.now() * 1000))
