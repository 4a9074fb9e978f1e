import { at } from '../../app/base/lists.ts'
import { utcMillisecond } from '../../app/base/times.ts'
import type { Track } from '../live/track.ts'
import type { PaneSpec } from '../plots/spec.ts'

/** A table for a spreadsheet: time in UTC, one column a channel, at most `most` readings of each. */
export function tableOf(
  spec: Pick<PaneSpec, 'lines' | 'unit'>,
  tracks: ReadonlyMap<string, Track>,
  most: number,
): string {
  const rows: { time: number; line: number; value: number }[] = []
  for (const [line, { channel }] of spec.lines.entries()) {
    const { t, v } = tracks.get(channel) ?? { t: [], v: [] }
    for (let i = 0; i < Math.min(t.length, most); i++)
      if (Number.isFinite(v[i])) rows.push({ time: at(t, i), line, value: at(v, i) })
  }
  rows.sort((a, b) => a.time - b.time)
  const head = ['UTC', ...spec.lines.map(({ name }) => `${name} / ${spec.unit}`)].join('\t')
  const body = rows.map(({ time, line, value }) =>
    [utcMillisecond(time * 1e6), ...spec.lines.map((_, i) => (i === line ? String(value) : ''))].join('\t'),
  )
  return [head, ...body].join('\n')
}
