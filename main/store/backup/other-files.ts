import { copyFileSync, existsSync, mkdirSync, readdirSync, readFileSync, statSync } from 'node:fs'
import { dirname, join, relative, sep } from 'node:path'
import { z } from 'zod'
import { said } from '../../../app/messages/said.ts'
import { StoreError } from '../errors.ts'
import { writeThenRename } from '../export/file.ts'
import { hashOfFile } from '../hash-of-file.ts'
import { keepPrivate } from '../private.ts'
import { renameWhole } from '../rename-whole.ts'
import type { Cancel } from '../thread-talk.ts'

/**
 * What else of a data folder belongs in a backup: certificates as they were signed and those that were read in, the
 * laboratory's own budget templates, and the roots that signatures are checked against. The signing key is left out on
 * purpose: a key that lies in a backup signs wherever the backup is.
 */
const FOLDERS = ['certificates', 'budgets', 'keys/roots'] as const
const SIGNING_KEY = join('keys', 'signing.p12')
const LIST = 'backup-files.json'

/** Whether a path lies below one of the folders, with slashes, and leads nowhere else. */
const isOwnPath = (path: string) =>
  FOLDERS.some((folder) => path.startsWith(`${folder}/`)) &&
  !/[\\:\0]/.test(path) &&
  path.split('/').every((part) => part !== '' && part !== '.' && part !== '..')

const OtherFiles = z.strictObject({
  form: z.literal(1),
  /** Whether the station had a key to sign with, which is not in the backup. */
  signingKey: z.boolean(),
  files: z
    .record(
      z.string(),
      z.strictObject({
        /** SHA-256 of the copy, hexadecimal. */
        sha256: z.string(),
        bytes: z.int(),
        /** Date of the station's file when it was copied, ms: by its own clock, so that what never changes is not read again. */
        changedMs: z.number(),
      }),
    )
    .refine((files) => Object.keys(files).every(isOwnPath), 'it names a file of another folder'),
})
export type OtherFiles = z.output<typeof OtherFiles>

/** What a backup holds besides sessions, station.db and profiles; nothing where it is of before. Throws StoreError 'damaged'. */
export function readOtherFiles(backup: string): OtherFiles {
  const path = join(backup, LIST)
  if (!existsSync(path)) return { form: 1, signingKey: false, files: {} }
  try {
    return OtherFiles.parse(JSON.parse(readFileSync(path, 'utf8')))
  } catch (fault) {
    const words = fault instanceof z.ZodError ? fault.issues[0]?.message : 'it is not readable'
    throw new StoreError(
      'damaged',
      said('backup-file-foreign', { path, words: String(words) }),
      { path },
      fault,
    )
  }
}

/** Copies what is new or was changed; what the station has no more stays in the backup. Returns how many were copied. */
export function backUpOtherFiles(data: string, backup: string, cancel?: Cancel): number {
  const kept = readOtherFiles(backup)
  const files = { ...kept.files }
  let copied = 0
  for (const path of FOLDERS.flatMap((folder) => filesBelow(data, folder))) {
    cancel?.throwIfAborted()
    const { size, mtimeMs } = statSync(join(data, path))
    const known = files[path]
    const target = join(backup, path)
    if (known?.bytes === size && known.changedMs === mtimeMs && existsSync(target)) continue
    mkdirSync(dirname(target), { recursive: true, mode: 0o700 })
    copyFileSync(join(data, path), `${target}.part`)
    keepPrivate(`${target}.part`)
    renameWhole(`${target}.part`, target)
    files[path] = { ...hashOfFile(target), changedMs: mtimeMs }
    copied += 1
  }
  const signingKey = existsSync(join(data, SIGNING_KEY))
  if (copied > 0 || signingKey !== kept.signingKey)
    writeThenRename(
      join(backup, LIST),
      (out) => out.write(`${JSON.stringify({ form: 1, signingKey, files } satisfies OtherFiles, null, 1)}\n`),
      0o600,
    )
  return copied
}

function filesBelow(data: string, folder: string): string[] {
  const root = join(data, folder)
  if (!existsSync(root)) return []
  return readdirSync(root, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile() && !entry.name.endsWith('.part'))
    .map((entry) => relative(data, join(entry.parentPath, entry.name)).replaceAll(sep, '/'))
    .toSorted()
}
