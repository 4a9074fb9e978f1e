import type { Logger } from 'pino'

/** What the station needs of a log. */
export type StationLog = Pick<Logger, 'debug' | 'info' | 'warn' | 'error'>
