import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { join, matchesGlob } from 'node:path'
import { Ajv } from 'ajv'
import { describe, expect, it } from 'vitest'
import { parse } from 'yaml'
import { APP_ID } from '../../main/desktop/shell.ts'

interface FileSet {
  from: string
  to: string
  filter: string | string[]
}
const root = join(import.meta.dirname, '../..')
const builder = parse(readFileSync(join(root, 'electron-builder.yml'), 'utf8')) as {
  electronFuses: Record<string, boolean>
  asarUnpack: string[]
  npmRebuild: boolean
  appId: string
  mac: { files: FileSet[]; hardenedRuntime: boolean; extendInfo: Record<string, string> }
  directories: { buildResources: string }
  files: string[]
  extraMetadata: { main: string; homepage: string }
  linux: { maintainer: string; target: string[]; files: FileSet[] }
  win: { files: FileSet[] }
}
/** Every native file of the packages that have one. */
const NATIVE = ['native-files', 'native-packages'].flatMap((name) =>
  Object.keys(JSON.parse(readFileSync(join(root, `tests/house/${name}.json`), 'utf8')) as object),
)
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
      resetAdHocDarwinSignature: true,
    })
  })

  it('says on macOS what the local network is for, and carries the name that Windows shows notices under', () => {
    expect(builder.mac.extendInfo.NSLocalNetworkUsageDescription).toMatch(/local network/)
    expect(builder.mac.hardenedRuntime).toBe(true)
    expect(builder.appId).toBe(APP_ID)
  })

  it('leaves native files outside the archive, unrebuilt', () => {
    expect(builder.asarUnpack).toContain('**/*.node')
    expect(builder.npmRebuild).toBe(false)
  })

  it.each(['linux-x64', 'linux-arm64', 'win32-x64', 'win32-arm64', 'darwin-x64', 'darwin-arm64'])(
    'packs for %s a native file of each package that has one, and none of another system',
    (target) => {
      const [platform, arch] = target.split('-') as [string, string]
      const own =
        builder[({ linux: 'linux', win32: 'win', darwin: 'mac' } as const)[platform as 'linux']].files
      // biome-ignore lint/suspicious/noTemplateCurlyInString: the builder fills this in
      const filled = (text: string) => text.replaceAll('${arch}', arch)
      const patterns = own.flatMap(({ from, filter }) =>
        [filter].flat().map((each) => filled(`${from}/${each}`)),
      )
      const taken = NATIVE.filter((file) => patterns.some((pattern) => matchesGlob(file, pattern)))
      expect(taken.some((file) => file.includes('better-sqlite3'))).toBe(true)
      expect(taken.some((file) => file.includes('@serialport'))).toBe(true)
      expect(taken.some((file) => file.includes('@node-usb/usb'))).toBe(true)
      expect(taken.filter((file) => file.includes('@koromix/koffi'))).toHaveLength(1)
      expect(taken.filter((file) => !new RegExp(`[/.-]${platform}-`).test(file))).toEqual([])
      expect(taken.filter((file) => !file.includes(arch))).toEqual([])
    },
  )

  it('has what a deb cannot be made without, and makes it first', () => {
    expect(builder.extraMetadata.homepage).toMatch(/^https:/)
    expect(builder.linux.maintainer).toMatch(/^[\w ]+ <\S+@\S+>$/)
    expect(builder.linux.target).toEqual(['deb', 'AppImage'])
  })

  it('has an icon of its own, large enough to make every other size from', () => {
    const png = readFileSync(join(root, builder.directories.buildResources, 'icon.png'))
    expect(png.subarray(1, 4).toString()).toBe('PNG')
    expect([png.readUInt32BE(16), png.readUInt32BE(20)]).toEqual([512, 512])
  })

  it('pins a supported Electron and the builder exactly', () => {
    expect(devDependencies.electron).toMatch(/^\d+\.\d+\.\d+$/)
    expect(Number(devDependencies.electron!.split('.')[0])).toBeGreaterThanOrEqual(43)
    expect(devDependencies['electron-builder']).toMatch(/^26\.\d+\.\d+$/)
  })
})
