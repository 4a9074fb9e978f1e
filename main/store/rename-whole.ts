import { renameSync } from 'node:fs'
import { said } from '../../app/messages/said.ts'
import { StoreError } from './errors.ts'

/**
 * Pauses between tries, ms; together less than a second. Windows renames no file over one that a scanner, an indexer or
 * a backup has open for a moment (common practice, no source).
 */
const PAUSES_MS = [10, 20, 40, 80, 160, 320]

/** What another program that has the file open looks like. On POSIX only a name that is in use says so. */
const HELD: Partial<Record<NodeJS.Platform, readonly string[]>> = { win32: ['EPERM', 'EACCES', 'EBUSY'] }
const HELD_ELSEWHERE = ['EBUSY']

export interface RenameParts {
  readonly platform?: NodeJS.Platform
  readonly rename?: (from: string, to: string) => void
  readonly pause?: (ms: number) => void
}

/**
 * Gives a finished file its name, in place of what has it. Everything of ours that reads the old file must have closed
 * it before. Throws StoreError 'locked' where somebody else keeps it open, 'read-only' where the rights do not allow it.
 */
export function renameWhole(from: string, to: string, parts: RenameParts = {}): void {
  const { platform = process.platform, rename = renameSync, pause = stand } = parts
  const held = HELD[platform] ?? HELD_ELSEWHERE
  for (let tries = 0; ; tries++) {
    try {
      rename(from, to)
      return
    } catch (fault) {
      const code = (fault as NodeJS.ErrnoException).code ?? ''
      const pauseMs = held.includes(code) ? PAUSES_MS[tries] : undefined
      if (pauseMs === undefined) throw inWords(fault, code, to, held.includes(code))
      pause(pauseMs)
    }
  }
}

function inWords(fault: unknown, code: string, to: string, wasHeld: boolean): unknown {
  if (wasHeld)
    return new StoreError('locked', said('not-replaced-open', { to, code }), { path: to, code }, fault)
  if (code === 'EPERM' || code === 'EACCES')
    return new StoreError('read-only', said('not-replaced-rights', { to, code }), { path: to, code }, fault)
  return fault
}

/** A short stand of this thread: whoever replaces a file has no use for a half-finished one in between. */
function stand(ms: number): void {
  Atomics.wait(new Int32Array(new SharedArrayBuffer(Int32Array.BYTES_PER_ELEMENT)), 0, 0, ms)
}
