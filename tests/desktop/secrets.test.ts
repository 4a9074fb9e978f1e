import { existsSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import type { ElectronParts } from '../../main/desktop/parts.ts'
import { Secrets } from '../../main/desktop/secrets.ts'

let folder: string
let file: string

function secretsWith(storage: { available?: boolean; backend?: string } = {}): Secrets {
  const safeStorage = {
    isEncryptionAvailable: () => storage.available ?? true,
    getSelectedStorageBackend: () => storage.backend ?? 'kwallet6',
    encryptString: (text: string) => Buffer.from(text).map((byte) => byte ^ 0x5a),
    decryptString: (bytes: Buffer) => Buffer.from(bytes.map((byte) => byte ^ 0x5a)).toString(),
  }
  return new Secrets({ safeStorage } as unknown as ElectronParts, file)
}

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'stillpoint-secrets-'))
  file = join(folder, 'deep/secrets.json')
})
afterEach(() => {
  vi.unstubAllGlobals()
  rmSync(folder, { recursive: true, force: true })
})

describe('Secrets', () => {
  it('gives back what was kept, also after a new start', () => {
    secretsWith().set('smtp-password', 'grüße ✓')
    expect(secretsWith().get('smtp-password')).toBe('grüße ✓')
    expect(secretsWith().get('another')).toBeUndefined()
  })

  it('writes only what the system has encrypted, for this user alone', () => {
    secretsWith().set('smtp-password', 'in the clear')
    expect(readFileSync(file, 'utf8')).not.toContain('in the clear')
    if (process.platform !== 'win32') expect(statSync(file).mode & 0o077).toBe(0)
  })

  it('keeps the others when one changes', () => {
    const secrets = secretsWith()
    secrets.set('one', 'a')
    secrets.set('two', 'b')
    secrets.set('one', 'c')
    expect([secrets.get('one'), secrets.get('two')]).toEqual(['c', 'b'])
  })

  it('refuses in words, and writes nothing, where the system offers no encryption', () => {
    expect(() => secretsWith({ available: false }).set('smtp-password', 'x')).toThrow(/keyring/)
    expect(existsSync(file)).toBe(false)
  })

  if (process.platform !== 'linux') console.log('Only Linux has a safe storage that merely obscures.')
  it.runIf(process.platform === 'linux')('refuses where the system can only obscure', () => {
    expect(() => secretsWith({ backend: 'basic_text' }).set('smtp-password', 'x')).toThrow(/no safe place/)
    expect(existsSync(file)).toBe(false)
  })

  it('throws on a file that is not its own', () => {
    secretsWith().set('one', 'a')
    writeFileSync(file, '{"one": {"not": "text"}}')
    expect(() => secretsWith().get('one')).toThrow()
  })
})
