import { mkdir, readdir, rm } from 'node:fs/promises'
import path from 'node:path'
import { buildReport, type ReportContent, type ReportOptions } from '../../../app/report/content.ts'
import type { Analysis, AnalysisOptions } from '../../../app/results/analysis.ts'
import { renameWhole } from '../../store/rename-whole.ts'
import type { SessionFile } from '../../store/session-file.ts'
import { writeWhole } from '../../store/write-whole.ts'
import { CERTIFICATE_FOLDER, certificatePdf, certificatesOf, certificateXml } from './certificates.ts'
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
  /** A certificate's file as it was signed, by its name; null: it was not signed electronically. */
  readonly issued?: (name: string) => Promise<Uint8Array | null>
  /** Copies the session file to a path; SQLite's own backup unless given. */
  readonly copySession?: (to: string) => Promise<void>
  /** Told before each file: its name, and the part of the whole that is done. */
  readonly onProgress?: (file: string, done: number) => void
}

export interface Results {
  /** Full paths of what was written, by what it is. */
  readonly files: Readonly<Record<ResultName, string>>
  /** Full paths of the certificates, PDF and XML of each item. */
  readonly certificates: readonly string[]
  readonly report: ReportContent
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
 * Writes a session's results: the session file itself, readings and points as CSV, the calibration record as JSON, HTML and PDF,
 * and the certificate of each item as PDF and XML.
 *
 * Throws ComparisonError where there is nothing to compare (session and readings are written all the same), StoreError or a
 * system error where a file cannot be written; files already written stay.
 */
export async function writeResults(options: ResultsOptions): Promise<Results> {
  const { session, folder, paper = 'A4', decimalSign = '.', onProgress, issued } = options
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
  const { points, json, html, pdf } = await printResults(analysis, report, paper)
  const whole = (data: string | Uint8Array) => (target: string) =>
    writeWhole(target, (append) => append(data))
  const made: Step[] = [
    ['points', whole(points)],
    ['json', whole(json)],
    ['html', whole(html)],
    ['pdf', whole(pdf)],
  ]
  await run(made, files, onProgress)
  const certificates = await writeCertificates(analysis, path.join(folder, CERTIFICATE_FOLDER), paper, issued)
  return { files, certificates, report }
}

/**
 * Writes the certificates of a session: those that were issued as they were signed, else drafts. Files of earlier versions and
 * drafts are taken away, so that nothing stands beside that no longer holds.
 */
async function writeCertificates(
  analysis: Analysis,
  folder: string,
  paper: Paper,
  issued: ResultsOptions['issued'],
): Promise<string[]> {
  await mkdir(folder, { recursive: true })
  const written: string[] = []
  const put = async (name: string, data: string | Uint8Array) => {
    const target = path.join(folder, name)
    await writeWhole(target, (append) => append(data))
    written.push(target)
  }
  for (const item of certificatesOf(analysis)) {
    const pdf = (await issued?.(`${item.file}.pdf`)) ?? (await certificatePdf(item, paper))
    await put(`${item.file}.pdf`, pdf)
    const xml = (await issued?.(`${item.file}.xml`)) ?? certificateXml(item, analysis, pdf)
    if (xml !== null) await put(`${item.file}.xml`, xml)
  }
  const names = new Set(written.map((file) => path.basename(file)))
  for (const name of await readdir(folder)) {
    if (/\.(pdf|xml)$/.test(name) && !names.has(name)) await rm(path.join(folder, name), { force: true })
  }
  return written
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
