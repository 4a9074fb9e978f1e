import { existsSync } from 'node:fs'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { Command, InvalidArgumentError, Option } from 'commander'
import { isoUtc } from '../../../app/base/clock.ts'
import { at } from '../../../app/base/lists.ts'
import type { Comparison } from '../../../app/contract/studies.ts'
import { Register } from '../../../app/records/register.ts'
import { findSession } from '../../store/find-session.ts'
import { openSessionFile, type SessionFile } from '../../store/session-file.ts'
import { openStationStore } from '../../store/station-store.ts'
import { compareWithNow } from '../../study/compare-results.ts'
import { recordsOfNow, recordsOfThen } from '../../study/records-of-session.ts'
import {
  comparisonLines,
  type Moment,
  momentLine,
  momentsOf,
  readingLine,
  stateWords,
  waitLine,
} from '../../study/replay-lines.ts'
import { type ReplayedWait, Replayer } from '../../study/replayer.ts'
import { readJsonFile } from './json-file.ts'

interface Options {
  readonly data?: string
  readonly speed: number
  readonly coefficients?: 'then' | 'now'
  readonly register?: string
  readonly step?: true
  readonly json?: true
  readonly all?: true
  readonly from?: number
  readonly to?: number
}

const FRAME_MS = 100

const HELP = `The session runs through its chains again, as the station judged it. Its events and points are told as it comes to
them, with the state of the channels that must settle; "replayed" lines say when they stood still by this replay. At the
end the results are computed again from the readings and compared with the old ones line by line.

With --step, Enter takes the next reading, a number so many, q ends the replay.

Exit status: 0; 1 where nothing was changed and a result differs all the same, or the session cannot be read.`

/** `stillpoint replay SESSION`. */
export function replayCommand(): Command {
  return new Command('replay')
    .argument('<session>', 'file of the session, or its id with --data')
    .option('--data <folder>', 'data folder of a station; its register holds the coefficients of now')
    .option('--speed <times>', 'times real time, or max', speed, Number.POSITIVE_INFINITY)
    .addOption(
      new Option(
        '--coefficients <when>',
        'then: those of the session (the default); now: those of a register',
      ).choices(['then', 'now']),
    )
    .option('--register <file>', 'JSON file of a register whose coefficients stand for those of now')
    .option('--step', 'one reading for each line on standard input')
    .option('--from <time>', 'begin here: ISO 8601 UTC', moment)
    .option('--to <time>', 'end here: ISO 8601 UTC', moment)
    .option('--all', 'compare every result in the table, not only those that change')
    .option('--json', 'print all of it as one JSON object')
    .description('run a session through its chains again and compare old and new results')
    .addHelpText('after', `\n${HELP}`)
    .action(replay)
}

function speed(text: string): number {
  if (text === 'max') return Number.POSITIVE_INFINITY
  const times = Number(text)
  if (!(times > 0)) throw new InvalidArgumentError('Give a number above 0, such as 1 or 600, or max.')
  return times
}

function moment(text: string): number {
  const ms = /^\d{4}-\d{2}-\d{2}(T[\d:.]+)?Z?$/.test(text)
    ? Date.parse(text.length > 10 && !text.endsWith('Z') ? `${text}Z` : text)
    : Number.NaN
  if (Number.isNaN(ms)) throw new InvalidArgumentError('Give a time such as 2026-03-01T18:30:00Z.')
  return ms * 1000
}

/** What the command has said so far, to be printed at once or as one object at the end. */
interface Said {
  readonly moments: (Moment & { state: string })[]
  line(text: string): void
}

async function replay(nameOrPath: string, options: Options): Promise<void> {
  const { path } = findSession(nameOrPath, options.data)
  const session = openSessionFile(path, { mode: 'read' })
  try {
    const then = recordsOfThen(session)
    const of = registerOf(options, then) ?? then
    const changed = recordsOfNow(then, of)
    const said: Said = { moments: [], line: (text) => options.json || console.log(text) }
    const fromMs = performance.now()
    const replayer = await run(
      session,
      changed.changed.length > 0 ? changed.register : undefined,
      options,
      said,
    )
    const seconds = (performance.now() - fromMs) / 1000
    const comparison = compareWithNow(session, of)
    finish(session, replayer, comparison, { said, seconds, options, changed: changed.changed })
  } finally {
    session.close()
  }
}

/** The register asked for; undefined for the session's own records. */
function registerOf({ coefficients, register, data }: Options, then: Register): Register | undefined {
  if (register !== undefined && coefficients !== 'then')
    return readJsonFile(register, Register, 'a register').data
  if (coefficients !== 'now') return undefined
  if (data === undefined || !existsSync(join(data, 'station.db'))) {
    throw new Error(
      'The coefficients of now stand in a register: name a data folder with --data, or a file with --register.',
    )
  }
  const store = openStationStore(data, { mode: 'read', clock: { now: () => ({ utcUs: 0, monoUs: 0 }) } })
  try {
    return store.registerLike(then)
  } finally {
    store.close()
  }
}

async function run(
  session: SessionFile,
  register: Register | undefined,
  options: Options,
  said: Said,
): Promise<Replayer> {
  const { startedUtcUs } = session.info
  let celsius = Number.NaN
  const replayer = new Replayer(session, {
    ...(register && { register }),
    ...(options.from !== undefined && { fromUtcUs: options.from }),
    ...(options.step && {
      onReading: (_, converted) => {
        celsius = converted.celsius
      },
    }),
  })
  const endUs =
    options.to === undefined ? replayer.endUs : Math.min(replayer.endUs, options.to - startedUtcUs)
  const moments = momentsOf(session.events(), session.points()).filter(
    ({ monoUs }) => monoUs <= endUs && (options.from === undefined || monoUs >= replayer.nowUs),
  )
  const told = new Set<ReplayedWait>(replayer.waits.filter(({ settledUtcUs }) => settledUtcUs !== null))
  let next = 0
  const tell = () => {
    for (const wait of replayer.waits) {
      if (wait.settledUtcUs === null || told.has(wait)) continue
      told.add(wait)
      said.line(waitLine(wait))
    }
    const { group } = replayer.state()
    for (; next < moments.length && at(moments, next).monoUs <= replayer.nowUs; next++) {
      const moment = at(moments, next)
      said.moments.push({ ...moment, state: stateWords(group) })
      said.line(momentLine(moment, group))
    }
  }
  const travel = options.step
    ? stepping(replayer, endUs, tell, (reading) => {
        said.line(readingLine(reading, celsius, replayer.state().group))
        celsius = Number.NaN
      })
    : travelling(replayer, endUs, options.speed, () => moments[next]?.monoUs ?? endUs, tell)
  await travel
  for (const wait of replayer.waits) if (wait.settledUtcUs === null) said.line(waitLine(wait))
  return replayer
}

async function travelling(
  replayer: Replayer,
  endUs: number,
  times: number,
  nextUs: () => number,
  tell: () => void,
): Promise<void> {
  const fromUs = replayer.nowUs
  const fromMs = performance.now()
  tell()
  while (replayer.nowUs < endUs) {
    const dueUs = fromUs + (performance.now() - fromMs) * 1000 * times
    const toUs = Math.min(endUs, nextUs(), Number.isFinite(dueUs) ? dueUs : endUs)
    replayer.advance(toUs)
    tell()
    if (Number.isFinite(times) && toUs >= dueUs) await new Promise((resolve) => setTimeout(resolve, FRAME_MS))
  }
}

async function stepping(
  replayer: Replayer,
  endUs: number,
  tell: () => void,
  onReading: (reading: NonNullable<ReturnType<Replayer['step']>>) => void,
): Promise<void> {
  tell()
  const lines = createInterface({ input: process.stdin })
  try {
    for await (const line of lines) {
      const wanted = line.trim()
      if (wanted === 'q') return
      const count = wanted === '' ? 1 : Number(wanted)
      if (!Number.isInteger(count) || count < 1) {
        console.error('stillpoint: Enter takes one reading, a number so many, q ends the replay.')
        continue
      }
      for (let i = 0; i < count; i++) {
        const reading = replayer.nowUs >= endUs ? undefined : replayer.step()
        tell()
        if (!reading) return
        onReading(reading)
      }
    }
  } finally {
    lines.close()
  }
}

function finish(
  session: SessionFile,
  replayer: Replayer,
  comparison: Comparison,
  {
    said,
    seconds,
    options,
    changed,
  }: { said: Said; seconds: number; options: Options; changed: readonly string[] },
): void {
  const spanS = replayer.nowUs / 1e6
  const differs = comparison.lines.some((line) => line.changed)
  if (changed.length === 0 && differs) process.exitCode = 1
  if (!options.json) {
    const pace = options.step ? '' : `, ${Math.round(spanS / seconds)} times real time`
    console.log(`Replayed ${replayer.readings} readings in ${seconds.toFixed(1)} s${pace}.`)
    for (const line of comparisonLines(comparison, options.all ?? false)) console.log(line)
    return
  }
  const time = (utcUs: number | null) => (utcUs === null ? null : isoUtc(utcUs))
  console.log(
    JSON.stringify({
      session: session.info.id,
      coefficients: changed.length > 0 ? 'now' : 'then',
      changed,
      readings: replayer.readings,
      seconds,
      moments: said.moments.map(({ utcUs, kind, words, state }) => ({
        utc: isoUtc(utcUs),
        kind,
        words,
        state,
      })),
      waits: replayer.waits.map((wait) => ({
        step: wait.step,
        setpointC: wait.setpointC,
        from: isoUtc(wait.fromUtcUs),
        recorded: time(wait.recordedUtcUs),
        settled: time(wait.settledUtcUs),
        late: wait.late,
      })),
      comparison,
    }),
  )
}
