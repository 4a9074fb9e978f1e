import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, onTestFinished } from 'vitest'

export * from './example-data.ts'

const freshFolder = () => mkdtempSync(join(tmpdir(), 'stillpoint-store-'))

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
