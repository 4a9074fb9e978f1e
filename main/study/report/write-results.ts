import { mkdir, open, rm } from 'node:fs/promises'
import path from 'node:path'
import { buildReport, type ReportContent, type ReportOptions } from '../../../app/report/content.ts'
import type { AnalysisOptions } from '../../../app/results/analysis.ts'
import { renameWhole } from '../../store/rename-whole.ts'
import type { SessionFile } from '../../store/session-file.ts'
import type { Paper } from './pdf.ts'
import { printResults, RESULT_FILES, type ResultName, readingsCsv } from './print-results.ts'
import { analyseSession } from './session-content.ts'
import { settlingTraces } from './settling-traces.ts'

export interface ResultsOptions {
  /** Open for reading; writing goes on elsewhere undisturbed. */
  readonly session: SessionFile
  /** Made where it does not exist. Files in it with the names of results are replaced, each whole or not at all. */
  readonly folder: string
  readonly paper?: Paper
  readonly decimalSign?: ReportOptions['decimalSign']
  readonly analysis?: Partial<AnalysisOptions>
  /** Copies the session file to a path; SQLite's own backup unless given. */
  readonly copySession?: (to: string) => Promise<void>
  /** Told before each file: its name, and the part of the whole that is done. */
  readonly onProgress?: (file: string, done: number) => void
}

export interface Results {
  /** Full paths of what was written, by what it is. */
  readonly files: Readonly<Partial<Record<ResultName, string>>>
  readonly report: ReportContent
}

/** Writes beside the target and renames, so that a full disk leaves the old file as it was. */
async function writeWhole(
  target: string,
  write: (append: (data: string | Uint8Array) => Promise<void>) => Promise<void>,
): Promise<void> {
  const part = `${target}.part`
  const file = await open(part, 'w')
  try {
    await write(async (data) => {
      await file.writeFile(data)
    })
    await file.sync()
    await file.close()
    renameWhole(part, target)
  } catch (fault) {
    await file.close().catch(() => undefined)
    await rm(part, { force: true })
    throw fault
  }
}

const writeReadings = (session: SessionFile, target: string): Promise<void> =>
  writeWhole(target, async (append) => {
    for (const piece of readingsCsv(session)) await append(piece)
  })

async function copyOf(session: SessionFile, target: string): Promise<void> {
  const part = `${target}.part`
  await rm(part, { force: true })
  await session.database.backup(part)
  renameWhole(part, target)
}

/**
 * Writes a session's results: the session file itself, readings and points as CSV, the report as JSON, HTML, PDF
 * and Digital Calibration Certificate.
 *
 * Throws ComparisonError where there is nothing to compare (session and readings are written all the same), StoreError or a
 * system error where a file cannot be written; files already written stay.
 */
export async function writeResults(options: ResultsOptions): Promise<Results> {
  const { session, folder, paper = 'A4', decimalSign = '.', onProgress } = options
  await mkdir(folder, { recursive: true })
  const files = Object.fromEntries(
    Object.entries(RESULT_FILES).map(([name, file]) => [name, path.join(folder, file)]),
  ) as Record<ResultName, string>
  // The record first: it is whole whatever can be made of it.
  const record: Step[] = [
    ['session', options.copySession ?? ((target) => copyOf(session, target))],
    ['readings', (target) => writeReadings(session, target)],
  ]
  await run(record, files, onProgress)
  const analysis = analyseSession(session, options.analysis)
  const report = buildReport(analysis, { decimalSign, settling: settlingTraces(session, analysis) })
  const { points, json, html, pdf, dcc } = await printResults(analysis, report, paper)
  const whole = (data: string | Uint8Array) => (target: string) =>
    writeWhole(target, (append) => append(data))
  const made: Step[] = [
    ['points', whole(points)],
    ['json', whole(json)],
    ['html', whole(html)],
    ['pdf', whole(pdf)],
  ]
  // Where there is nothing to certify an old certificate may not stay.
  if (dcc === null) await rm(files.dcc, { force: true })
  else made.push(['dcc', whole(dcc)])
  await run(made, files, onProgress)
  const written = [...record, ...made].map(([name]) => [name, files[name]] as const)
  return { files: Object.fromEntries(written), report }
}

type Step = readonly [name: ResultName, write: (target: string) => Promise<void>]

async function run(
  steps: readonly Step[],
  files: Readonly<Record<ResultName, string>>,
  onProgress: ResultsOptions['onProgress'],
): Promise<void> {
  const order = Object.keys(RESULT_FILES) as ResultName[]
  for (const [name, write] of steps) {
    onProgress?.(RESULT_FILES[name], order.indexOf(name) / order.length)
    await write(files[name])
  }
}
