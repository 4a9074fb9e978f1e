import { join } from 'node:path'
import pino, { type Logger } from 'pino'
import roll from 'pino-roll'
import { PRIVATE_FILE, privateFolder } from '../store/private.ts'

/** What the station needs of a log. */
export type StationLog = Pick<Logger, 'debug' | 'info' | 'warn' | 'error'>

export interface LogFile {
  readonly log: Logger
  /** Writes out at once what is buffered, for a process that is about to end. */
  flush(): void
  /** Writes out what is buffered and lets go of the file. */
  close(): Promise<void>
}

/** Names under which nothing is ever written down. */
const SECRETS = [
  'password',
  'token',
  'pass',
  'authorization',
  '*.password',
  '*.token',
  '*.pass',
  '*.authorization',
]

/** Folder of the log within a data folder. */
export const logFolder = (folder: string): string => join(folder, 'log')

/** A log of JSON lines in the data folder that starts a new file at 5 MB and keeps the last ten. */
export async function openLog(folder: string, level = 'info'): Promise<LogFile> {
  privateFolder(logFolder(folder))
  const stream = await roll({
    file: join(logFolder(folder), 'station'),
    extension: '.log',
    size: '5m',
    limit: { count: 10, removeOtherLogFiles: true },
    mkdir: true,
    mode: PRIVATE_FILE,
  })
  const log = pino(
    {
      level,
      redact: { paths: SECRETS, censor: '(left out)' },
      serializers: { fault: pino.stdSerializers.err },
    },
    stream,
  )
  return {
    log,
    flush: () => stream.flushSync(),
    close: () =>
      new Promise((resolve) => {
        stream.once('close', resolve)
        stream.end()
      }),
  }
}
