import { execFileSync } from 'node:child_process'
import { existsSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { createSessionFile } from '../../main/store/session-file.ts'
import { forgetReports, reportTasks } from '../../main/study/report-tasks.ts'
import { exampleClock, exampleInfo, exampleSetup, scan } from '../store/example-data.ts'
import { manyItems } from './many-items.ts'
import type { Row } from './row.ts'
import type { Exported } from './years-export.ts'

const READINGS = 5_000_000
const CHANNELS = 96
const EXPORT = fileURLToPath(new URL('years-export.ts', import.meta.url))
/** Items, points, and how long their report may take, ms. */
const REPORTS = [
  { items: 4, points: 30, goalMs: null },
  { items: 60, points: 5, goalMs: 6_000 },
  { items: 95, points: 30, goalMs: 30_000 },
] as const

const plain = { other: Number.NaN, ratio: Number.NaN }

/** The largest single things: reports of many items as the window shows them, and five million readings in a file. */
export function largeRows(place: string): Row[] {
  const large = join(place, 'large.stillpoint')
  if (!existsSync(large)) build(large)
  return [
    ...REPORTS.map(({ items, points, goalMs }): Row => {
      const ms = reportMs(join(place, 'items.stillpoint'), items, points)
      return {
        ...{ name: `report of ${items} items at ${points} points`, ours: ms, unit: 'ms', ...plain },
        goal: goalMs === null ? '' : `<= ${goalMs} ms`,
        met: goalMs === null ? null : ms <= goalMs,
      }
    }),
    ...(['csv', 'parquet'] as const).flatMap((format): Row[] => {
      const { ms, mostMb } = JSON.parse(
        execFileSync(process.execPath, [EXPORT, large, format], { encoding: 'utf8' }).trim(),
      ) as Exported
      const name = `export of 5 million readings, ${format}`
      return [
        { name, ours: ms, unit: 'ms', ...plain, goal: '<= 12000 ms', met: ms <= 12_000 },
        {
          ...{ name: `${name}: memory`, ours: mostMb, unit: 'MB', ...plain },
          ...{ goal: '<= 250 MB', met: mostMb <= 250 },
        },
      ]
    }),
  ]
}

/** From the session's file to the page, nothing of it known before. */
function reportMs(path: string, items: number, points: number): number {
  for (const name of [path, `${path}.model`])
    for (const ending of ['', '-wal', '-shm']) rmSync(name + ending, { force: true })
  manyItems(path, items, points)
  forgetReports()
  const from = performance.now()
  reportTasks.html(
    { throwIfAborted: () => undefined },
    { path, version: '1', options: {}, decimalSign: '.' },
    false,
  )
  return performance.now() - from
}

function build(path: string): void {
  const file = createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })
  file.database.pragma('synchronous = OFF')
  const scans = 50
  for (let tick = 0; tick * CHANNELS < READINGS; tick += scans)
    file.commit({ readings: Array.from({ length: scans }, (_, i) => scan(tick + i, CHANNELS)).flat() })
  file.finish('complete', 'done')
  file.close()
}
