import { CodedError } from '../../app/base/coded-error.ts'
import { said } from '../../app/messages/said.ts'

export type StoreErrorCode =
  /** The disk the file lies on has no room; nothing of the batch was written. */
  | 'disk-full'
  /** The file cannot be read as a whole; what can be read is still offered. */
  | 'damaged'
  /** Not a file of this program. */
  | 'not-ours'
  /** Written by a newer program than this one. */
  | 'newer'
  /** Another station, or another writer, has it. */
  | 'locked'
  | 'not-found'
  | 'exists'
  /** A write to a file that was opened for reading. */
  | 'read-only'
  /** What was asked makes no sense for this file. */
  | 'refused'
  /** The disk or the operating system refused. */
  | 'input-output'

/** What the store could not do: a code to act on, facts as fields, and a sentence that says what to do. */
export class StoreError extends CodedError<StoreErrorCode> {}

/** SQLite says SHMSIZE where the index beside the write-ahead log finds no room. */
const FULL_CODES = ['ENOSPC', 'EDQUOT', 'SQLITE_IOERR_SHMSIZE']

/** The disk, the rights of the folder or the way it is mounted stand against it. */
const REFUSED_CODES = ['EIO', 'EACCES', 'EPERM', 'EROFS']

const codeOf = (fault: unknown): string =>
  typeof fault === 'object' && fault !== null && 'code' in fault ? String(fault.code) : ''

/** A table or column that every file of ours has is not there: its description is damaged. */
const lacksTable = (fault: unknown) =>
  codeOf(fault) === 'SQLITE_ERROR' && /^no such (table|column)/.test((fault as Error).message)

/** Whether a fault says that the bytes of the file make no sense. */
export function isDamage(fault: unknown): boolean {
  const code = codeOf(fault)
  return (
    code.startsWith('SQLITE_CORRUPT') ||
    code.startsWith('SQLITE_NOTADB') ||
    lacksTable(fault) ||
    (fault instanceof StoreError && fault.code === 'damaged')
  )
}

/** Turns a fault of SQLite or of the file system into a StoreError; everything else passes unchanged. */
export function asStoreError(fault: unknown, path: string): unknown {
  if (fault instanceof StoreError) return fault
  const code = codeOf(fault)
  if (code.startsWith('SQLITE_FULL') || FULL_CODES.includes(code))
    return new StoreError('disk-full', said('disk-full', { path }), { path }, fault)
  if (code.startsWith('SQLITE_NOTADB'))
    return new StoreError('not-ours', said('not-our-file', { path }), { path }, fault)
  if (code.startsWith('SQLITE_CORRUPT') || lacksTable(fault))
    return new StoreError(
      'damaged',
      said('file-damaged', { path, message: String((fault as Error).message) }),
      { path },
      fault,
    )
  if (code.startsWith('SQLITE_BUSY') || code.startsWith('SQLITE_LOCKED'))
    return new StoreError('locked', said('file-locked', { path }), { path }, fault)
  if (code.startsWith('SQLITE_READONLY'))
    return new StoreError('read-only', said('file-read-only', { path }), { path }, fault)
  if (code.startsWith('SQLITE_IOERR') || code.startsWith('SQLITE_CANTOPEN') || REFUSED_CODES.includes(code))
    return new StoreError('input-output', said('file-input-output', { path, code }), { path, code }, fault)
  return fault
}
