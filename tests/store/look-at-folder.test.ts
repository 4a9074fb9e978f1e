import { existsSync, readdirSync, readlinkSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { lookAtFolder } from '../../main/store/look-at-folder.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { exampleClock, temporaryFolder } from './example.ts'

/** What Linux tells of a process's own open files (proc(5)); other systems have no such folder. */
const OPEN = '/proc/self/fd'

function openIn(folder: string): string[] {
  return readdirSync(OPEN)
    .flatMap((fd) => {
      try {
        return readlinkSync(join(OPEN, fd))
      } catch {
        return []
      }
    })
    .filter((path) => path.startsWith(folder))
}

function filled(): string {
  const folder = join(temporaryFolder(), 'data')
  openStationStore(folder, { clock: exampleClock() }).close()
  return folder
}

describe('lookAtFolder', () => {
  it('tells that the database is sound, held by nobody, and what is free', () => {
    const look = lookAtFolder(filled())
    expect(look).toMatchObject({ held: false, station: { check: 'ok' }, sessions: [] })
    expect(look.freeBytes).toBeGreaterThan(0)
  })

  it.runIf(existsSync(OPEN))('leaves nothing open in the folder, which can be moved after', () => {
    const folder = filled()
    lookAtFolder(folder)
    expect(openIn(folder)).toEqual([])
  })
})
