import type { Disposable } from '../../../app/base/clock.ts'
import { FASTEST_PACE, type StationState } from '../../../app/contract/views.ts'
import { said } from '../../../app/messages/said.ts'
import { VirtualClock } from '../../station/clocks/virtual.ts'
import type { Station } from '../../station/station.ts'
import { supportBundle } from '../../station/support-bundle.ts'
import { blob, isOnlooker, os, refused } from './base.ts'
import { stateForOnlookers } from './onlookers.ts'

/** Shortest time between two states sent to one window, ms of the wall clock. */
const STATE_EVERY_MS = 250
/** A state is sent at least this often, so that ages and remaining times on screen stay true. */
const STATE_AT_LEAST_MS = 1000

const paceWords = (pace: number): string =>
  pace === 1
    ? 'The practice station keeps the pace of the wall.'
    : pace >= FASTEST_PACE
      ? 'The practice station goes as fast as it can.'
      : `The practice station goes ${pace} times as fast as the wall.`

/** Waits for a change or a time of the wall clock, whichever is first. */
export function changeOr(station: Station, ms: number, signal?: AbortSignal): Promise<void> {
  return new Promise((resolve) => {
    let change: Disposable | undefined
    const done = () => {
      clearTimeout(timer)
      change?.dispose()
      signal?.removeEventListener('abort', done)
      resolve()
    }
    const timer = setTimeout(done, ms)
    change = station.onDidChange.on(done)
    signal?.addEventListener('abort', done)
    if (signal?.aborted) done()
  })
}

const pause = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms))

async function* states(
  station: Station,
  onlooker: boolean,
  signal?: AbortSignal,
): AsyncGenerator<StationState, void> {
  while (!signal?.aborted) {
    yield onlooker ? stateForOnlookers(station.state(), station.bench) : station.state()
    const sent = performance.now()
    await changeOr(station, STATE_AT_LEAST_MS, signal)
    const early = STATE_EVERY_MS - (performance.now() - sent)
    if (early > 0) await pause(early)
  }
}

export const stationRoutes = {
  watch: os.station.watch.handler(({ context, signal }) =>
    states(context.services.station, isOnlooker(context), signal),
  ),
  state: os.station.state.handler(({ context }) => {
    const { station } = context.services
    const state = station.state()
    return isOnlooker(context) ? stateForOnlookers(state, station.bench) : state
  }),
  pace: os.station.pace.handler(({ context: { services }, input }) => {
    const { clock, station } = services
    if (!(clock instanceof VirtualClock)) refused(said('pace-of-the-wall', {}))
    clock.setSpeed(input.pace >= FASTEST_PACE ? Number.POSITIVE_INFINITY : input.pace)
    station.touched('settings')
    return { words: paceWords(input.pace) }
  }),
  practice: os.station.practice.handler(async ({ context: { services } }) => ({
    address: await services.practice.open(),
  })),
  support: os.station.support.handler(({ context }) =>
    blob(new Uint8Array(supportBundle(context.services.station, context.services.store)), 'application/gzip'),
  ),
}

export const liveRoutes = {
  next: os.live.next.handler(async ({ context, input, signal }) => {
    const { station } = context.services
    const until = performance.now() + input.waitMs
    while (!signal?.aborted) {
      const newest = station.lastLive
      const left = until - performance.now()
      if (newest > input.after || newest < input.after || left <= 0) break
      await changeOr(station, left, signal)
    }
    // A number beyond the newest belongs to another session: the window starts over.
    const newest = station.lastLive
    const after = input.after > newest ? 0 : input.after
    return blob(station.live(after, input.backlogS, input.most))
  }),
}
