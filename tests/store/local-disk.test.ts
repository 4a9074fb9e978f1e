import { mkdtempSync, rmSync, statfsSync, statSync } from 'node:fs'
import { homedir, tmpdir } from 'node:os'
import { join } from 'node:path'
import Database from 'better-sqlite3'
import { describe, expect, it } from 'vitest'
import { defaultDataFolder } from '../../main/host/data-folder.ts'
import { RealClock } from '../../main/station/clocks/real.ts'
import { refuseShare } from '../../main/store/local-disk.ts'
import { setPragmas } from '../../main/store/sqlite.ts'
import { openStationStore } from '../../main/store/station-store.ts'

const onWindows = (folder: string, real = folder) =>
  refuseShare(folder, { platform: 'win32', realPath: () => real })

describe('refuseShare', () => {
  it.each([
    ['a share', '\\\\server\\records', undefined],
    ['a share by its long name', '\\\\?\\UNC\\server\\records', undefined],
    ['a drive that is mapped to a share', 'Z:\\records', '\\\\server\\records'],
  ])('refuses %s on Windows, and says what a share is good for', (_, folder, real) => {
    expect(() => onWindows(folder, real)).toThrow(/share of the network.*--data.*backup folder/)
  })

  it.each(['C:\\Users\\Zoë\\records', '\\\\?\\C:\\records', '\\\\.\\C:\\records'])('takes %s', (folder) => {
    expect(() => onWindows(folder)).not.toThrow()
  })

  it.each([
    ['NFS', 0x6969],
    ['CIFS', 0xff534d42],
    ['CIFS as a signed number', 0xff534d42 | 0],
    ['SMB', 0xfe534d42],
  ])('refuses %s on Linux', (_, type) => {
    expect(() => refuseShare('/mnt/x', { platform: 'linux', fileSystem: () => type })).toThrow(
      /disk of this computer/,
    )
  })

  it('takes the disk that this test runs on', () => {
    expect(() => refuseShare(join(tmpdir(), 'not', 'there', 'yet'))).not.toThrow()
    expect(statfsSync(tmpdir()).type).toBeTypeOf('number')
  })
})

describe('defaultDataFolder', () => {
  const environment = { APPDATA: 'C:\\Users\\Zoë\\Roaming', LOCALAPPDATA: 'C:\\Users\\Zoë\\Local' }
  const windows = (...there: string[]) =>
    defaultDataFolder(environment, 'win32', (path) => there.includes(path))

  it('lies in the local part of a profile on Windows, and takes up one that an earlier version made', () => {
    const [local, roaming] = ['Local', 'Roaming'].map(
      (part) => `C:\\Users\\Zoë\\${part}\\Stillpoint\\station`,
    )
    expect(windows()).toBe(local)
    expect(windows(roaming!)).toBe(roaming)
    expect(windows(roaming!, local!)).toBe(local)
  })

  it('follows each other system, and a person who names a folder', () => {
    expect(defaultDataFolder({ XDG_DATA_HOME: '/x' }, 'linux')).toBe('/x/stillpoint')
    expect(defaultDataFolder({}, 'darwin')).toBe(
      `${homedir()}/Library/Application Support/Stillpoint/station`,
    )
    expect(defaultDataFolder({ STILLPOINT_DATA: '/y' }, 'linux')).toBe('/y')
  })
})

describe('a data folder', () => {
  it('works with spaces, letters beyond ASCII and a long path, for its owner alone', () => {
    const base = mkdtempSync(join(tmpdir(), 'stillpoint-'))
    // Windows keeps whole paths under 260 characters unless a program and its system agree otherwise; SQLite does not.
    const long = process.platform === 'win32' ? 30 : 120
    const folder = join(base, 'Zoë Müller', '温度 の 記録', 'n'.repeat(long), 'm'.repeat(long / 2))
    try {
      openStationStore(folder, { clock: new RealClock() }).close()
      if (process.platform !== 'win32') {
        expect(statSync(folder).mode & 0o777).toBe(0o700)
        expect(statSync(join(folder, 'sessions')).mode & 0o777).toBe(0o700)
      }
    } finally {
      rmSync(base, { recursive: true, force: true })
    }
  })

  it('asks macOS to write through the cache of the disk, and reads back that it will', () => {
    const base = mkdtempSync(join(tmpdir(), 'stillpoint-'))
    const db = new Database(join(base, 'x.db'))
    try {
      expect(db.pragma('fullfsync', { simple: true })).toBe(0)
      setPragmas(db, 'x.db', 'write')
      expect(db.pragma('fullfsync', { simple: true })).toBe(1)
      expect(db.pragma('checkpoint_fullfsync', { simple: true })).toBe(1)
    } finally {
      db.close()
      rmSync(base, { recursive: true, force: true })
    }
  })
})
