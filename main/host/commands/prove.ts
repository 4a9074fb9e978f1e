import { existsSync, readFileSync } from 'node:fs'
import path from 'node:path'
import { Command } from 'commander'
import { StoredReport } from '../../../app/report/content.ts'
import type { Difference } from '../../../app/report/proof.ts'
import { proveSession } from '../../station/report/prove.ts'
import { RESULT_FILES } from '../../station/report/write-results.ts'
import { openSessionFile } from '../../store/session-file.ts'

/** Differences named one by one before the rest is only counted. */
const MOST_NAMED = 20

function readStored(file: string): StoredReport {
  let value: unknown
  try {
    value = JSON.parse(readFileSync(file, 'utf8'))
  } catch (fault) {
    throw new Error(
      `${file} cannot be read as JSON: ${fault instanceof Error ? fault.message : String(fault)}`,
    )
  }
  const parsed = StoredReport.safeParse(value)
  if (!parsed.success) {
    const first = parsed.error.issues[0]!
    throw new Error(`${file} is not a stored report: ${first.path.join('.')}: ${first.message}`)
  }
  return parsed.data
}

function* differenceLines(differences: readonly Difference[]): Generator<string> {
  for (const { key, stored, computed } of differences.slice(0, MOST_NAMED)) {
    yield `  ${key}: kept ${stored}, computed ${computed}`
  }
  if (differences.length > MOST_NAMED) yield `  and ${differences.length - MOST_NAMED} more`
}

/** Lines of the answer, and whether everything agreed. */
export function prove(sessionPath: string, against: string | undefined): { lines: string[]; same: boolean } {
  const beside = path.join(path.dirname(sessionPath), RESULT_FILES.json)
  const file = against ?? (existsSync(beside) ? beside : undefined)
  const stored = file === undefined ? null : readStored(file)
  const session = openSessionFile(sessionPath, { mode: 'read' })
  try {
    if (stored && stored.session !== session.info.id) {
      throw new Error(`${file} is the report of session ${stored.session}, not of ${session.info.id}`)
    }
    const proof = proveSession(session, stored)
    const numbers = Object.keys(proof.report.numbers).length
    const verdict = (what: string, differences: readonly Difference[]) => [
      differences.length === 0
        ? `${what}: the same, digit by digit`
        : `${what}: ${differences.length} differ`,
      ...differenceLines(differences),
    ]
    const lines = [
      `Session ${session.info.id}, ${session.readingCount} readings, chain head ${session.head().slice(0, 16)}`,
      ...verdict(`${proof.points} points from their readings`, proof.pointDifferences),
      `Report ${proof.report.number}, version ${proof.report.version}: ${numbers} numbers computed from the file`,
      ...(proof.signed
        ? verdict(`Against the signed version ${proof.signed.version}`, proof.signed.differences)
        : ['No signed report of this version in the file to compare with.']),
      ...(proof.stored
        ? verdict(`Against ${path.basename(file!)}`, proof.stored.differences)
        : ['No results.json beside the session; name one with --against.']),
    ]
    return { lines, same: proof.same }
  } finally {
    session.close()
  }
}

export function proveCommand(): Command {
  return new Command('prove')
    .description('compute the whole report again from a session file alone and compare digit by digit')
    .argument('<session>', 'session file')
    .option('--against <file>', 'stored report; results.json beside the session unless told')
    .addHelpText(
      'after',
      '\nPoints are made again from the readings, results from the points. Exit status: 0 all the same, 1 something differs.',
    )
    .action((session: string, options: { against?: string }) => {
      const { lines, same } = prove(session, options.against)
      process.stdout.write(`${lines.join('\n')}\n`)
      process.exitCode = same ? 0 : 1
    })
}
