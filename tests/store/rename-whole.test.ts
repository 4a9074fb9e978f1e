import { execFileSync, spawn } from 'node:child_process'
import { once } from 'node:events'
import { globSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { StoreError } from '../../main/store/errors.ts'
import { writeThenRename } from '../../main/store/export/file.ts'
import { renameWhole } from '../../main/store/rename-whole.ts'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'stillpoint-rename-ä ö '))
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

/** A system that refuses a few times. */
function refusing(code: string, times: number) {
  const pauses: number[] = []
  let tries = 0
  return {
    pauses,
    get tries() {
      return tries
    },
    pause: (ms: number) => void pauses.push(ms),
    rename: () => {
      tries += 1
      if (tries <= times) throw Object.assign(new Error(`${code}: operation not permitted`), { code })
    },
  }
}

describe('renameWhole', () => {
  it('replaces a file in a folder whose name has spaces and letters beyond ASCII', () => {
    const [from, to] = [join(folder, 'new'), join(folder, 'näme')]
    writeFileSync(from, 'new')
    writeFileSync(to, 'old')
    renameWhole(from, to)
    expect(readFileSync(to, 'utf8')).toBe('new')
  })

  it.each(['EPERM', 'EACCES', 'EBUSY'])('waits on Windows for a scanner that holds the file (%s)', (code) => {
    const system = refusing(code, 3)
    renameWhole('a', 'b', { ...system, rename: system.rename, platform: 'win32' })
    expect(system.tries).toBe(4)
    expect(system.pauses).toEqual([10, 20, 40])
  })

  it('gives up within a second and says what to do', () => {
    const system = refusing('EPERM', Number.POSITIVE_INFINITY)
    const attempt = () => renameWhole('a', 'b.db', { ...system, rename: system.rename, platform: 'win32' })
    expect(attempt).toThrow(/b\.db could not be replaced: another program has it open.*Close what shows/)
    expect(attempt).toThrow(expect.objectContaining({ code: 'locked' }) as unknown as Error)
    expect(system.pauses.slice(0, 6).reduce((a, b) => a + b, 0)).toBeLessThan(1000)
  })

  it('waits for nothing where the rights forbid it, and leaves other faults as they are', () => {
    const system = refusing('EACCES', Number.POSITIVE_INFINITY)
    const attempt = () => renameWhole('a', 'b', { ...system, rename: system.rename, platform: 'linux' })
    expect(attempt).toThrow(StoreError)
    expect(attempt).toThrow(/rights of its folder/)
    expect(system.pauses).toEqual([])
    const missing = refusing('ENOENT', 1)
    expect(() => renameWhole('a', 'b', { ...missing, rename: missing.rename })).toThrow(/ENOENT/)
  })

  it('is the only rename in the program', () => {
    const root = join(import.meta.dirname, '../..')
    const others = globSync('{app,drivers,main}/**/*.{ts,mjs}', { cwd: root })
      .filter((file) => !file.replaceAll('\\', '/').endsWith('store/rename-whole.ts'))
      .filter((file) => /\brename(Sync)?\(/.test(readFileSync(join(root, file), 'utf8')))
    expect(others).toEqual([])
  })
})

describe.skipIf(process.platform === 'win32')('writeThenRename', () => {
  it('gives a file that holds secrets to its owner alone', () => {
    const path = join(folder, 'secret.json')
    writeThenRename(path, (out) => out.write('{}'), 0o600)
    expect(statSync(path).mode & 0o777).toBe(0o600)
  })
})

if (process.platform !== 'win32')
  console.log('What Windows itself does with an open file is tried on Windows only.')

describe.runIf(process.platform === 'win32')('on Windows', () => {
  it('outlasts a reader that has the file open for a moment', async () => {
    const [from, to] = [join(folder, 'new'), join(folder, 'old')]
    writeFileSync(from, 'new')
    writeFileSync(to, 'old')
    const reader = spawn('powershell', [
      '-NoProfile',
      '-Command',
      `$f=[IO.File]::Open('${to}','Open','Read','None'); 'open'; Start-Sleep -Milliseconds 300; $f.Close()`,
    ])
    await once(reader.stdout, 'data')
    renameWhole(from, to)
    expect(execFileSync('cmd', ['/c', 'type', to], { encoding: 'utf8' }).trim()).toBe('new')
  })
})
