import { join } from 'node:path'
import pino, { type Logger } from 'pino'

/** Each file at most this large, and this many of them beside the current one. */
const FILE_SIZE = '10m'
const FILES_KEPT = 9

/** What never reaches a log file, wherever it hangs. */
const SECRETS = ['password', '*.password', 'token', '*.token', 'secret', '*.secret', 'url', '*.url']

/** The station's log in its data folder, one JSON object a line, in files that roll over. */
export function openLog(folder: string): Logger {
  return pino(
    {
      level: process.env.STILLPOINT_LOG ?? 'info',
      redact: SECRETS,
      base: null,
      timestamp: pino.stdTimeFunctions.isoTime,
    },
    pino.transport({
      target: 'pino-roll',
      options: {
        file: join(folder, 'log', 'station'),
        extension: '.log',
        size: FILE_SIZE,
        limit: { count: FILES_KEPT },
        mkdir: true,
      },
    }),
  )
}
