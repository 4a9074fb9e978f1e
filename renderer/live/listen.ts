import { unpackColumns } from '../../app/contract/columns.ts'
import { station, whenJoined } from '../client/connect.ts'
import { stationState } from '../client/state.ts'
import { LiveBoard } from './board.ts'
import { frames } from './frame.ts'

export const board = new LiveBoard()

let told = ''
stationState.subscribe(({ now }) => {
  const units = (now?.channels ?? []).flatMap(({ id, unit }) => (unit === null ? [] : [[id, unit] as const]))
  const key = units.join()
  if (key === told) return
  told = key
  board.units = new Map(units)
})

/** Between two questions, so that readings come in few large messages: their size is what speed depends on. */
const PAUSE_MS = 25
const BACKLOG_S = 3600
const MOST = 50_000

const sleep = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms))

/** Asks for new readings for as long as the page lives. */
export async function listenLive(): Promise<never> {
  for (;;) {
    await whenJoined()
    try {
      const asked = performance.now()
      const blob = await station.live.next({
        after: board.after,
        backlogS: BACKLOG_S,
        waitMs: 1000,
        most: MOST,
      })
      const { columns, meta } = unpackColumns(await blob.arrayBuffer())
      const count = board.take(columns, meta)
      if (count > 0) {
        noteDelay()
      }
      await sleep(count === 0 && performance.now() - asked < 200 ? 250 : PAUSE_MS)
    } catch {
      await sleep(300)
    }
  }
}

/** From the newest reading's commit to the last frame that shows it, for whoever observes 'measure' entries of this name. */
function noteDelay(): void {
  const committedMs = board.newestTime * 1000
  frames.afterPaint(() => {
    const delay = Date.now() - committedMs
    // Not known either where the first readings are all of those that no picture shows.
    if (!(delay >= 0 && delay <= 60_000)) return
    const end = performance.now()
    performance.measure('reading-to-paint', { start: Math.max(0, end - delay), end })
    performance.clearMeasures('reading-to-paint')
  })
}
