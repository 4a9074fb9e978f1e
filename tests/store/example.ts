import { existsSync, mkdtempSync, rmSync, statfsSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, onTestFinished } from 'vitest'

export * from './example-data.ts'

/** Memory in place of the disk where there is plenty: what is checked is what is written, not how fast the disk is. */
function place(): string {
  const memory = '/dev/shm'
  if (!existsSync(memory)) return tmpdir()
  const { bavail, bsize } = statfsSync(memory)
  return bavail * bsize > 2e9 ? memory : tmpdir()
}

const freshFolder = () => mkdtempSync(join(place(), 'stillpoint-store-'))

/** A folder that is removed when the test has ended. */
export function temporaryFolder(): string {
  const folder = freshFolder()
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }))
  return folder
}

/** A folder for all tests of a describe block, removed after the last. */
export function sharedFolder(): string {
  const folder = freshFolder()
  afterAll(() => rmSync(folder, { recursive: true, force: true }))
  return folder
}
