import { readdirSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { openForWriting } from '../../main/store/open-for-writing.ts'
import { exampleClock, temporaryFolder } from './example.ts'
import { writeOldSession } from './old-session.ts'

describe('openForWriting', () => {
  it('gives an older session the newest form, keeps the old file, and writes to it', () => {
    const folder = temporaryFolder()
    const path = writeOldSession(folder, 1)
    const file = openForWriting(path, exampleClock())
    const before = file.readingCount
    file.annotate('A. Person', 'found again')
    expect(file.events().at(-1)?.words).toBe('found again')
    expect(file.readingCount).toBe(before)
    file.close()
    expect(readdirSync(folder).some((name) => name.endsWith('.form1'))).toBe(true)
    const again = openForWriting(path, exampleClock())
    expect(again.events().at(-1)?.words).toBe('found again')
    again.close()
  })
})
