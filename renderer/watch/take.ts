import { board } from '../live/listen.ts'
import { ringQuantity } from '../live/quantity.ts'
import type { TimeWindow } from '../plots/hooks.ts'
import type { PaneSpec } from '../plots/pane.ts'
import { save } from '../text/save.ts'

/** Saves what a plot shows as a picture. */
export function takePicture(pane: string): void {
  const canvas = document.querySelector<HTMLCanvasElement>(`[data-pane="${CSS.escape(pane)}"] canvas`)
  canvas?.toBlob((blob) => blob && save(blob, `plot-${pane}.png`))
}

const MOST_ROWS = 20_000

/** The readings in view as a table for a spreadsheet: time in UTC, one column a channel. */
export function dataOf(spec: PaneSpec, window: TimeWindow): string {
  const rows: { time: number; line: number; value: number }[] = []
  for (const [line, { channel }] of spec.lines.entries()) {
    const ring = board.rings.get(channel)
    if (!ring) continue
    const values = ring[ringQuantity(spec.shown)]
    for (let i = ring.from(window.from); i < ring.length && rows.length < MOST_ROWS; i++) {
      const slot = ring.slot(i)
      if (ring.time[slot]! > window.to) break
      rows.push({ time: ring.time[slot]!, line, value: values[slot]! })
    }
  }
  rows.sort((a, b) => a.time - b.time)
  const head = ['UTC', ...spec.lines.map(({ name }) => `${name} / ${spec.unit}`)].join('\t')
  const body = rows.map(({ time, line, value }) =>
    [
      new Date(time * 1000).toISOString(),
      ...spec.lines.map((_, i) => (i === line ? String(value) : '')),
    ].join('\t'),
  )
  return [head, ...body].join('\n')
}
