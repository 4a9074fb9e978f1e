import { at } from '../../app/base/lists.ts'
import { board } from '../live/listen.ts'
import { type SetpointAt, shownInRing, shownSince } from '../live/shown.ts'
import type { Track } from '../live/track.ts'
import { say } from '../page/page.ts'
import type { TimeWindow } from '../plots/hooks.ts'
import type { PaneSpec } from '../plots/spec.ts'
import { copy, save } from '../text/save.ts'
import { inTurn } from './in-turn.ts'
import { shownReadings } from './record.ts'
import { tableOf } from './table.ts'

/** Saves what a plot shows as a picture. */
export function takePicture(pane: string): void {
  const canvas = document.querySelector<HTMLCanvasElement>(`[data-pane="${CSS.escape(pane)}"] canvas`)
  canvas?.toBlob((blob) => blob && save(blob, `plot-${pane}.png`))
}

/** A spreadsheet takes no more than a million rows, a clipboard hardly so many. */
const MOST_ROWS = 100_000

/** Copies the readings in view as they are shown, from the rings where these reach, else from the record. */
export async function copyReadings(
  session: string | undefined,
  spec: PaneSpec,
  window: TimeWindow,
  setpointAt: SetpointAt,
): Promise<void> {
  const most = Math.floor(MOST_ROWS / spec.lines.length)
  try {
    const tracks = new Map<string, Track>()
    const before = spec.lines.filter(({ channel }) => !(window.from >= shownSince(board, channel, spec)))
    if (session !== undefined && before.length > 0) {
      const ask = await shownReadings(session, spec, window, { most: MOST_ROWS, forMeans: false })
      await inTurn(before, new AbortController().signal, async ({ channel }) => {
        tracks.set(channel, await ask(channel))
      })
    }
    for (const { channel } of spec.lines)
      if (!tracks.has(channel)) tracks.set(channel, fromRing(channel, spec, window, setpointAt))
    const cut = [...tracks.values()].some(({ t }) => t.length > most)
    copy(
      tableOf(spec, tracks, most),
      cut ? `The first ${most} readings of each channel in view` : 'The readings in view',
    )
  } catch {
    say('The readings could not be had from the record. Try again when the station answers.', 'problem')
  }
}

function fromRing(channel: string, spec: PaneSpec, window: TimeWindow, setpointAt: SetpointAt): Track {
  const ring = board.rings.get(channel)
  const t: number[] = []
  const v: number[] = []
  if (ring) {
    const value = shownInRing(board, ring, channel, spec, setpointAt)
    for (let i = ring.from(window.from); i < ring.length; i++) {
      const slot = ring.slot(i)
      if (at(ring.time, slot) > window.to) break
      t.push(at(ring.time, slot))
      v.push(value(slot))
    }
  }
  return { t: Float64Array.from(t), v: Float64Array.from(v) }
}
