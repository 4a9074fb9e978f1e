import { existsSync, statSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { BYTES_PER_READING, DiskReserve, freeBytes, judgeDisk } from '../../main/store/disk.ts'
import { temporaryFolder } from './example.ts'

describe('judgeDisk', () => {
  it('warns before the disk is too full for what is to come, and says what to do', () => {
    const need = 1_000_000 * BYTES_PER_READING
    expect(judgeDisk(need - 1, 1_000_000)).toMatchObject({ level: 'short' })
    expect(judgeDisk(need - 1, 1_000_000).words).toMatch(/112 MB free, 112 MB needed\. Make room first/)
    expect(judgeDisk(need + 1e6, 1_000_000)).toMatchObject({ level: 'low' })
    expect(judgeDisk(need + 1e9, 1_000_000)).toMatchObject({ level: 'fine', words: '1.11 GB free.' })
  })
})

describe('freeBytes', () => {
  it('refuses a folder that is not there', () => {
    expect(freeBytes(temporaryFolder())).toBeGreaterThan(0)
    expect(() => freeBytes('/nowhere/at/all')).toThrow()
  })
})

describe('DiskReserve', () => {
  it('takes real room and gives it back', () => {
    const reserve = new DiskReserve(temporaryFolder(), 1024 * 1024)
    expect(reserve.held).toBe(false)
    expect(reserve.hold()).toBe(true)
    expect(reserve.held).toBe(true)
    const { size, blocks } = statSync(reserve.path)
    expect(size).toBe(1024 * 1024)
    expect(blocks * 512).toBeGreaterThanOrEqual(size)
    reserve.release()
    expect(existsSync(reserve.path)).toBe(false)
    reserve.release()
  })
})
