import { Command } from 'commander'
import { findSession } from '../../store/find-session.ts'
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
      if (!result.whole) process.exitCode = 1
    })
}
