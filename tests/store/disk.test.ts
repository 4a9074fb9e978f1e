import { existsSync, statSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { DiskReserve, freeBytes } from '../../main/store/disk.ts'
import { temporaryFolder } from './example.ts'

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
