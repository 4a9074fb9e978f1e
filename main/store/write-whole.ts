import { open, rm } from 'node:fs/promises'
import { renameWhole } from './rename-whole.ts'

/** Writes beside the target and renames, so that a full disk leaves the old file as it was. */
export async function writeWhole(
  target: string,
  write: (append: (data: string | Uint8Array) => Promise<void>) => Promise<void>,
  mode = 0o666,
): Promise<void> {
  const part = `${target}.part`
  const file = await open(part, 'w', mode)
  try {
    await write(async (data) => {
      await file.writeFile(data)
    })
    await file.sync()
    await file.close()
    renameWhole(part, target)
  } catch (fault) {
    await file.close().catch(() => undefined)
    await rm(part, { force: true })
    throw fault
  }
}
