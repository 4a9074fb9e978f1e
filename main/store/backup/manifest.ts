import { existsSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { z } from 'zod'
import { said } from '../../../app/messages/said.ts'
import { StoreError } from '../errors.ts'
import { writeThenRename } from '../export/file.ts'

const NAME = 'backup.json'

const KeptFile = z.strictObject({
  /** SHA-256 of the copy, hexadecimal. */
  sha256: z.string(),
  bytes: z.int(),
  madeUtcUs: z.int(),
})

/** Names that lead into no other folder. */
const isName = (name: string) => name !== '..' && !/[/\\:\0]/.test(name)

const Manifest = z.strictObject({
  form: z.literal(1),
  /** station.db, and the end of its ledger when it was copied: by it a station knows its own backup. */
  station: KeptFile.extend({ ledger: z.strictObject({ n: z.int(), hash: z.string() }) }).nullable(),
  /** By file name. `head` is that of the session's chain: the copy holds what the session holds while they agree. */
  sessions: z.record(z.string(), KeptFile.extend({ head: z.string(), readings: z.int() })),
  /** Profiles that the laboratory wrote itself, by file name. */
  profiles: z
    .record(z.string(), KeptFile)
    .refine((kept) => Object.keys(kept).every(isName), 'it names a file of another folder'),
})
export type Manifest = z.output<typeof Manifest>
export type KeptFile = z.output<typeof KeptFile>

const empty = (): Manifest => ({ form: 1, station: null, sessions: {}, profiles: {} })

/**
 * What a backup folder holds, by SHA-256. Nothing is concluded from the dates of files: the clocks of a computer and of
 * the share that the folder lies on differ. Throws StoreError 'newer' or 'damaged'.
 */
export function readManifest(folder: string): Manifest {
  const path = join(folder, NAME)
  if (!existsSync(path)) return empty()
  let found: unknown
  try {
    found = JSON.parse(readFileSync(path, 'utf8'))
  } catch (fault) {
    throw new StoreError('damaged', said('manifest-unreadable', { path }), { path }, fault)
  }
  const form = (found as { form?: unknown } | null)?.form
  if (typeof form === 'number' && form > 1)
    throw new StoreError('newer', said('manifest-newer', { path, form }), { path, form })
  const parsed = Manifest.safeParse(found)
  if (!parsed.success)
    throw new StoreError(
      'damaged',
      said('backup-file-foreign', { path, words: String(parsed.error.issues[0]?.message) }),
      {
        path,
      },
    )
  return parsed.data
}

export function writeManifest(folder: string, manifest: Manifest): void {
  writeThenRename(join(folder, NAME), (out) => out.write(`${JSON.stringify(manifest, null, 1)}\n`), 0o600)
}
