import { readFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { Command } from 'commander'
import { RealClock } from '../../station/clocks/real.ts'
import { StoreError } from '../../store/errors.ts'
import { findSession } from '../../store/find-session.ts'
import { openSessionFile, type SessionFile } from '../../store/session-file.ts'
import { surveySession } from '../../store/survey.ts'
import { verifySession } from '../../store/verify.ts'
import { CERTIFICATE_FOLDER } from '../../study/report/certificates.ts'
import {
  type LookedAtFile,
  lookAtSigned,
  rootsOf,
  signedSession,
} from '../../study/signing/look-at-signed.ts'
import { readRoots } from '../../study/signing/verify.ts'
import { issuedFolder } from '../issue-certificates.ts'

interface Options {
  data?: string
  json?: boolean
  roots?: string
}

/** `stillpoint verify SESSION`: exit status 0 where the chain is whole, 1 where it is broken. */
export function verifyCommand(): Command {
  return new Command('verify')
    .argument('<session>', 'file of the session, or its id with --data')
    .option('--data <folder>', 'data folder of a station, whose noted heads are held against the file')
    .option('--json', 'print the result as one JSON object')
    .option(
      '--roots <file>',
      'certificates (PEM) that signatures may lead to, besides keys/roots/*.pem of the data folder',
    )
    .description('walk the hash chain of a session and name the first break; look at what was signed of it')
    .addHelpText(
      'after',
      '\nLooked at besides: certificates, signatures (.p7s) and time stamps (.tsr), in the data folder or beside the file. Exit status: 0 all ' +
        'of it is whole, 1 something is not.',
    )
    .action(async (session: string, { data, json, roots }: Options) => {
      const { path, anchors } = findSession(session, data)
      const result = verifySession(path, { anchors })
      const files = await signedFiles(path, data, roots)
      if (files.some(({ holds }) => !holds)) process.exitCode = 1
      const held =
        data === undefined || anchors.length === 0
          ? ''
          : ` Held against ${anchors.length} heads noted in the station.`
      console.log(
        json ? JSON.stringify({ ...result, files }) : `${path}: ${result.words}${result.whole ? held : ''}`,
      )
      if (!json) for (const { name, words } of files) console.log(`${name}: ${words}`)
      if (result.whole) return
      process.exitCode = 1
      if (!json) for (const words of whatIsLost(path)) console.log(words)
    })
}

/** What was signed of a session, as it lies in the data folder, or beside a session file that stands alone. */
async function signedFiles(
  path: string,
  data: string | undefined,
  roots: string | undefined,
): Promise<LookedAtFile[]> {
  let file: SessionFile
  try {
    file = openSessionFile(path, { mode: 'read' })
  } catch (fault) {
    // What is wrong with the file itself has been said.
    if (fault instanceof StoreError) return []
    throw fault
  }
  try {
    const session = signedSession(file)
    const beside = dirname(path)
    const issued = data === undefined ? undefined : issuedFolder(data, session.id)
    return await lookAtSigned(issued ? [issued] : [beside, join(beside, CERTIFICATE_FOLDER)], {
      roots: [
        ...(data === undefined ? [] : rootsOf(data)),
        ...(roots === undefined ? [] : readRoots(readFileSync(roots, 'utf8'))),
      ],
      nowUtcUs: new RealClock().now().utcUs,
      session,
    })
  } finally {
    file.close()
  }
}

function whatIsLost(path: string): string[] {
  let file: SessionFile
  try {
    file = openSessionFile(path, { mode: 'read' })
  } catch (fault) {
    if (!(fault instanceof StoreError)) throw fault
    return ['Nothing of it can be read here. Take the copy in the backup folder.']
  }
  try {
    const { readable, words } = surveySession(file)
    return words.length === 0
      ? [`All ${readable} readings can still be read, as they stand now.`]
      : [`${readable} readings can still be read and exported.`, ...words]
  } finally {
    file.close()
  }
}
