import { execFileSync } from 'node:child_process'
import { existsSync, mkdtempSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join, resolve } from 'node:path'
import { fileURLToPath } from 'node:url'
import { Resistor } from '../../app/records/register.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { buildYears } from '../soak/years.ts'
import type { Row } from './row.ts'
import { largeRows } from './years-large.ts'
import type { Large, Measured } from './years-station.ts'

const YEARS = 10
/** So that the lists of the small folder fill a page of a hundred lines as well. */
const SMALL_YEARS = 0.35
const SEED = 1
/** A hundred times as many lines found, and charts of ten years against four months: judged by what a person waits for. */
const GROWING: readonly Large[] = ['ledger, searched for what most lines hold', 'a chart of ten years']
const STATION = fileURLToPath(new URL('years-station.ts', import.meta.url))

/**
 * Ten years of a laboratory beside four months of it, each in a station of its own. A folder that was built before by
 * `npm run soak -- --years 10 --folder DIR` is taken from STILLPOINT_YEARS.
 */
export async function bench(): Promise<Row[]> {
  const place = mkdtempSync(join(tmpdir(), 'stillpoint-years-'))
  try {
    const small = join(place, 'small')
    buildYears(small, SMALL_YEARS, SEED)
    const given = process.env.STILLPOINT_YEARS
    const large = given !== undefined && existsSync(given) ? given : join(place, 'years')
    if (large !== given) buildYears(large, YEARS, SEED)
    // The first look brings what is read into the disk's cache, for both.
    for (const folder of [small, large]) measure(folder)
    // Beside the ten years where those are kept, so that five million readings are written once.
    const beside = large === given ? dirname(resolve(given)) : place
    const starts = startsOf(large, small)
    return [startRow(starts), ...rowsOf(measure(large), measure(small), growth()), ...largeRows(beside)]
  } finally {
    rmSync(place, { recursive: true, force: true })
  }
}

const STARTS = 5

/** One start is too few to be judged by: the middle one of five, of both in turn. */
function startsOf(large: string, small: string): { large: number; small: number } {
  const took = { large: [] as number[], small: [] as number[] }
  const start = (folder: string) =>
    (JSON.parse(execFileSync(process.execPath, [STATION, folder, 'start'], { encoding: 'utf8' })) as Measured)
      .startMs
  for (let i = 0; i < STARTS; i += 1) {
    took.large.push(start(large))
    took.small.push(start(small))
  }
  const middle = (list: number[]) => list.toSorted((a, b) => a - b)[STARTS >> 1]!
  return { large: middle(took.large), small: middle(took.small) }
}

const startRow = ({ large, small }: { large: number; small: number }): Row => ({
  ...{ name: 'start', ours: large, other: small, unit: 'ms', ratio: large / small, goal: '<= 1.3x' },
  met: large <= 1.3 * small,
})

const measure = (folder: string): Measured =>
  JSON.parse(execFileSync(process.execPath, [STATION, folder], { encoding: 'utf8' }).trim()) as Measured

function rowsOf(large: Measured, small: Measured, grown: number): Row[] {
  const row = (name: string, ours: number, other: number, unit: string, goal: string, met: boolean): Row => ({
    ...{ name, ours, other, unit, ratio: ours / other, goal, met },
  })
  const { restMb, afterMb, loopP999Ms } = large
  return [
    row('memory at rest', restMb, small.restMb, 'MB', '<= 1.3x', restMb <= 1.3 * small.restMb),
    row(`memory after every list and 20 charts`, afterMb, small.afterMb, 'MB', '<= 350 MB', afterMb <= 350),
    ...Object.entries(large.asked).map(([name, ms]) => {
      const other = small.asked[name]!
      return GROWING.some((large) => large === name)
        ? row(name, ms, other, 'ms', '<= 150 ms', ms <= 150)
        : row(name, ms, other, 'ms', '<= 150 ms, <= 3x', ms <= 150 && ms <= 3 * other)
    }),
    row('loop silent, p99.9', loopP999Ms, small.loopP999Ms, 'ms', '<= 50 ms', loopP999Ms <= 50),
    row('station.db, 40 against 20 calibrations', grown, 2, 'x', '<= 1.2x of linear', grown <= 2.4),
  ]
}

/** What 40 calibrations of a record take, saved one by one, over what 20 take. */
function growth(): number {
  const bytesOf = (calibrations: number) => {
    const folder = mkdtempSync(join(tmpdir(), 'stillpoint-growth-'))
    try {
      const store = openStationStore(folder, { clock: { now: () => ({ utcUs: 0, monoUs: 0 }) } })
      store.database.pragma('synchronous = OFF')
      for (let year = 1; year <= calibrations; year += 1)
        for (let n = 0; n < 50; n += 1) store.saveResistor(resistorOf(n, year), 'C. Keeper', 'calibrated')
      store.close()
      return statSync(join(folder, 'station.db')).size
    } finally {
      rmSync(folder, { recursive: true, force: true })
    }
  }
  const none = bytesOf(0)
  return (bytesOf(40) - none) / (bytesOf(20) - none)
}

const resistorOf = (n: number, calibrations: number) =>
  Resistor.parse({
    ...{ id: `r-${n}`, name: `Resistor ${n}`, nominalOhm: 100, keptAtC: 23, uKeptAtK: 0.02 },
    calibrations: Array.from({ length: calibrations }, (_, i) => ({
      ...{
        id: `c-${i}`,
        date: `${1986 + i}-02-01`,
        certificate: `R-${n}-${i}`,
        laboratory: 'Somewhere else',
      },
      ...{ ohm: `100.0001${i}`, celsius: 23, expandedRelative: 1e-6 },
    })),
  })
