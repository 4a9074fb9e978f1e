import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { fetchElectron, runElectron } from '../../main/host/run-electron.ts'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'stillpoint-electron-'))
  vi.spyOn(console, 'log').mockImplementation(() => undefined)
  vi.spyOn(process.stderr, 'write').mockImplementation(() => true)
})
afterEach(() => {
  vi.restoreAllMocks()
  rmSync(folder, { recursive: true, force: true })
})
const program = (code: string) => {
  const path = join(folder, 'program.mjs')
  writeFileSync(path, code)
  return path
}
const run = (code: string) => runElectron(process.execPath, [program(code)])

describe('runElectron', () => {
  it('ends as the program ends', async () => {
    expect(await run('process.exit(0)')).toBe(0)
    expect(await run("console.error('something else'); process.exit(3)")).toBe(3)
    expect(await runElectron(join(folder, 'not there'), [])).toBe(1)
  })

  it.skipIf(process.platform === 'win32')('knows a program that was not allowed its sandbox', async () => {
    const words = 'The SUID sandbox helper binary was found, but is not configured correctly.'
    expect(await run(`process.stderr.write('${words}', () => process.kill(process.pid, 'SIGTRAP'))`)).toBe(
      'no-sandbox',
    )
    expect(await run(`console.error('${words}'); process.exit(0)`)).toBe(0)
  })
})

describe('fetchElectron', () => {
  it('says in the open what it does, and why it failed', () => {
    expect(fetchElectron(join(folder, 'install.js'))).toBe('it is not installed')
    expect(fetchElectron(program('process.exit(0)'))).toBeUndefined()
    expect(console.log).toHaveBeenCalledWith(expect.stringContaining('110 MB'))
    expect(fetchElectron(program("console.error('getaddrinfo ENOTFOUND'); process.exit(1)"))).toBe(
      'getaddrinfo ENOTFOUND',
    )
  })
})
