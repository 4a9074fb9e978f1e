import { execFileSync } from 'node:child_process'
import { existsSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'
import { freeBytes } from '../../main/store/disk.ts'
import { openSessionFile } from '../../main/store/session-file.ts'
import { type Box, openBox } from './box.ts'

let box: Box | undefined
let disk: string | undefined

/** A disk of 16 MB; undefined where this user may not mount one. */
function smallDisk(): string | undefined {
  const folder = join(mkdtempSync(join(tmpdir(), 'stillpoint-disk-')), 'disk')
  mkdirSync(folder)
  try {
    execFileSync('mount', ['-t', 'tmpfs', '-o', 'size=16m', 'tmpfs', folder], { stdio: 'ignore' })
  } catch {
    return undefined
  }
  return folder
}

afterEach(async () => {
  await box?.close()
  if (disk) execFileSync('umount', ['-l', disk])
  box = undefined
  disk = undefined
})

describe('a full disk', () => {
  it('raises the alarm, goes on in the room set aside, and ends the alarm when there is room again', async (context) => {
    disk = smallDisk()
    if (!disk) {
      console.log('This user may not mount a small disk: not tested here.')
      context.skip()
      return
    }
    box = await openBox({ folder: disk })
    const { station, clock } = box
    const reserve = join(disk, 'reserve.bin')
    expect(existsSync(reserve)).toBe(true)
    const session = await station.record({ operator: 'test' })
    await clock.sleep(120_000)
    const before = station.session!.recorder.stored
    expect(before).toBeGreaterThan(0)

    const filler = join(disk, 'filler')
    writeFileSync(filler, Buffer.alloc(Math.max(0, freeBytes(disk) - 4096), 1))
    for (let s = 0; s < 1800 && existsSync(reserve); s += 30) await clock.sleep(30_000)
    expect(existsSync(reserve)).toBe(false)
    const alarm = () => station.alarms.list().find((a) => a.words.includes('set aside'))
    expect(alarm()?.active).toBe(true)
    await clock.sleep(120_000)
    expect(station.session!.recorder.stored).toBeGreaterThan(before)
    expect(station.session!.recorder.failing).toBe(false)

    rmSync(filler)
    await clock.sleep(180_000)
    expect(existsSync(reserve)).toBe(true)
    expect(station.alarms.list().filter((a) => a.active && a.words.includes('set aside'))).toEqual([])

    const shown = station.session!.recorder.stored
    station.stop('test', 'enough')
    await station.finished
    const file = openSessionFile(box.store.sessionPath(session), { mode: 'read' })
    expect(file.readingCount).toBeGreaterThanOrEqual(shown)
    file.close()
  }, 60_000)
})
