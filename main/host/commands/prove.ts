import { existsSync, readFileSync } from 'node:fs'
import path from 'node:path'
import { Command } from 'commander'
import { StoredReport } from '../../../app/report/content.ts'
import type { Difference } from '../../../app/report/proof.ts'
import { RealClock } from '../../station/clocks/real.ts'
import { openSessionFile } from '../../store/session-file.ts'
import { CERTIFICATE_FOLDER } from '../../study/report/certificates.ts'
import { RESULT_FILES } from '../../study/report/print-results.ts'
import { proveFiles, proveSession, type StoredJson } from '../../study/report/prove.ts'
import { lookAtSigned, signedSession } from '../../study/signing/look-at-signed.ts'
import { readRoots } from '../../study/signing/verify.ts'
import { readJsonFile } from './json-file.ts'

/** Differences named one by one before the rest is only counted. */
const MOST_NAMED = 20

function readStored(file: string): StoredJson {
  const { data, json } = readJsonFile(file, StoredReport, 'a stored report')
  return { report: data, json }
}

function* differenceLines(differences: readonly Difference[]): Generator<string> {
  for (const { key, stored, computed } of differences.slice(0, MOST_NAMED)) {
    yield `  ${key}: kept ${stored}, computed ${computed}`
  }
  if (differences.length > MOST_NAMED) yield `  and ${differences.length - MOST_NAMED} more`
}

/** Lines of the answer, and whether everything agreed. */
export async function prove(
  sessionPath: string,
  against: string | undefined,
  roots?: string,
): Promise<{ lines: string[]; same: boolean }> {
  const beside = path.join(path.dirname(sessionPath), RESULT_FILES.json)
  const file = against ?? (existsSync(beside) ? beside : undefined)
  const stored = file === undefined ? null : readStored(file)
  const session = openSessionFile(sessionPath, { mode: 'read' })
  try {
    if (stored && stored.report.session !== session.info.id) {
      throw new Error(`${file} is the report of session ${stored.report.session}, not of ${session.info.id}`)
    }
    const proof = proveSession(session, stored)
    const folder = stored ? path.dirname(file!) : null
    const files = folder ? await proveFiles(session, proof, folder) : []
    const signed = folder
      ? await lookAtSigned([folder, path.join(folder, CERTIFICATE_FOLDER)], {
          roots: roots === undefined ? [] : readRoots(readFileSync(roots, 'utf8')),
          nowUtcUs: new RealClock().now().utcUs,
          session: signedSession(session),
        })
      : []
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
      ...proof.doubts,
      `Report ${proof.report.number}, version ${proof.report.version}: ${numbers} numbers computed from the file`,
      ...(proof.signed
        ? verdict(`Against the signed version ${proof.signed.version}`, proof.signed.differences)
        : ['No signed report of this version in the file to compare with.']),
      ...(proof.stored
        ? verdict(`Against ${path.basename(file!)}, numbers, words and plots`, proof.stored.differences)
        : ['No results.json beside the session; name one with --against.']),
      ...files.map(({ name, stored: was, computed }) =>
        was === computed
          ? `${name}: the same, byte for byte (SHA-256 ${was.slice(0, 16)})`
          : `${name}: differs from what the session gives (SHA-256 ${was.slice(0, 16)}, computed ${computed.slice(0, 16)})`,
      ),
      ...signed.map(({ name, words }) => `${name}: ${words}`),
    ]
    const same = proof.same && files.every(({ stored: was, computed }) => was === computed)
    return { lines, same: same && signed.every(({ holds }) => holds) }
  } finally {
    session.close()
  }
}

export function proveCommand(): Command {
  return new Command('prove')
    .description('compute the whole report again from a session file alone and compare digit by digit')
    .argument('<session>', 'session file')
    .option('--against <file>', 'stored report; results.json beside the session unless told')
    .option('--roots <file>', 'certificates (PEM) that signatures may lead to')
    .addHelpText(
      'after',
      '\nPoints are made again from the readings, results from the points; every number, word and plot of results.json is compared, and the ' +
        'files beside it are printed again and compared byte for byte; signatures and time stamps are looked at. Exit status: 0 all the same, 1 something differs.',
    )
    .action(async (session: string, options: { against?: string; roots?: string }) => {
      const { lines, same } = await prove(session, options.against, options.roots)
      process.stdout.write(`${lines.join('\n')}\n`)
      process.exitCode = same ? 0 : 1
    })
}
