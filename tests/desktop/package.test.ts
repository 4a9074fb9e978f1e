import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { join } from 'node:path'
import { Ajv } from 'ajv'
import { describe, expect, it } from 'vitest'
import { parse } from 'yaml'

const root = join(import.meta.dirname, '../..')
const builder = parse(readFileSync(join(root, 'electron-builder.yml'), 'utf8')) as {
  electronFuses: Record<string, boolean>
  asarUnpack: string[]
  npmRebuild: boolean
  files: string[]
}
const { devDependencies } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as {
  devDependencies: Record<string, string>
}

describe('electron-builder.yml', () => {
  it("satisfies electron-builder's own schema", () => {
    const schema = JSON.parse(
      readFileSync(createRequire(join(root, 'package.json')).resolve('app-builder-lib/scheme.json'), 'utf8'),
    ) as object
    const validate = new Ajv({ strict: false, allErrors: true, validateFormats: false }).compile(schema)
    validate(builder)
    expect(validate.errors ?? []).toEqual([])
  })

  it('sets every fuse by name, and every one to the safe side', () => {
    expect(builder.electronFuses).toEqual({
      runAsNode: false,
      enableCookieEncryption: true,
      enableNodeOptionsEnvironmentVariable: false,
      enableNodeCliInspectArguments: false,
      enableEmbeddedAsarIntegrityValidation: true,
      onlyLoadAppFromAsar: true,
      loadBrowserProcessSpecificV8Snapshot: false,
      grantFileProtocolExtraPrivileges: false,
    })
  })

  it('leaves native files outside the archive, unrebuilt, for the target platform only', () => {
    expect(builder.asarUnpack).toContain('**/*.node')
    expect(builder.npmRebuild).toBe(false)
    const native = builder.files.filter(
      (pattern) => pattern.includes('prebuilds') && !pattern.startsWith('!'),
    )
    expect(native).toHaveLength(2)
    // biome-ignore lint/suspicious/noTemplateCurlyInString: the builder fills these in
    for (const pattern of native) expect(pattern).toContain('${platform}-${arch}')
  })

  it('pins a supported Electron and the builder exactly', () => {
    expect(devDependencies.electron).toMatch(/^\d+\.\d+\.\d+$/)
    expect(Number(devDependencies.electron!.split('.')[0])).toBeGreaterThanOrEqual(43)
    expect(devDependencies['electron-builder']).toMatch(/^26\.\d+\.\d+$/)
  })
})
