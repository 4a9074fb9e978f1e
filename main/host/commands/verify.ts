import { Command } from 'commander'
import { StoreError } from '../../store/errors.ts'
import { findSession } from '../../store/find-session.ts'
import { openSessionFile, type SessionFile } from '../../store/session-file.ts'
import { surveySession } from '../../store/survey.ts'
import { verifySession } from '../../store/verify.ts'

/** `stillpoint verify SESSION`: exit status 0 where the chain is whole, 1 where it is broken. */
export function verifyCommand(): Command {
  return new Command('verify')
    .argument('<session>', 'file of the session, or its id with --data')
    .option('--data <folder>', 'data folder of a station, whose noted heads are held against the file')
    .option('--json', 'print the result as one JSON object')
    .description('walk the hash chain of a session and name the first break')
    .action((session: string, { data, json }: { data?: string; json?: boolean }) => {
      const { path, anchors } = findSession(session, data)
      const result = verifySession(path, { anchors })
      const held =
        data === undefined || anchors.length === 0
          ? ''
          : ` Held against ${anchors.length} heads noted in the station.`
      console.log(json ? JSON.stringify(result) : `${path}: ${result.words}${result.whole ? held : ''}`)
      if (result.whole) return
      process.exitCode = 1
      if (!json) for (const words of whatIsLost(path)) console.log(words)
    })
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
