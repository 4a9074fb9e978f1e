import { execFileSync } from 'node:child_process'
import { createHash } from 'node:crypto'
import { existsSync, readdirSync, readFileSync } from 'node:fs'
import { join, relative } from 'node:path'
import { describe, expect, it } from 'vitest'
import { marked, unmarked } from './lock-marks.mjs'

const root = join(import.meta.dirname, '../..')
const read = (file: string) => readFileSync(join(root, file), 'utf8')
const packageJson = JSON.parse(read('package.json')) as {
  dependencies: Record<string, string>
  devDependencies: Record<string, string>
  allowScripts: Record<string, boolean>
  scripts: Record<string, string>
}
const lock = JSON.parse(read('package-lock.json')) as {
  packages: Record<
    string,
    {
      version?: string
      integrity?: string
      hasInstallScript?: boolean
      gypfile?: boolean
      dev?: boolean
      license?: string
      resolved?: string
      link?: boolean
    }
  >
}

/** Licences that may be passed on inside a program under MIT. */
const ALLOWED = new Set(
  'MIT MIT-0 ISC 0BSD BSD-2-Clause BSD-3-Clause Apache-2.0 CC0-1.0 Unlicense BlueOak-1.0.0 OFL-1.1 Python-2.0 Zlib MPL-2.0'.split(
    ' ',
  ),
)

/** Native code that runs in the core, by content: a changed binary is a decision, not an accident. */
const NATIVE = JSON.parse(read('tests/house/native-files.json')) as Record<string, string>
/** The same of packages that exist once for each system: only that of the system at hand is installed. */
const NATIVE_PACKAGES = JSON.parse(read('tests/house/native-packages.json')) as Record<string, string>

describe('the supply chain', () => {
  it('pins every direct dependency to one version', () => {
    const loose = Object.entries({ ...packageJson.dependencies, ...packageJson.devDependencies }).filter(
      ([, version]) => !/^(npm:.+@)?\d+\.\d+\.\d+(-[\w.]+)?$/.test(version),
    )
    expect(loose).toEqual([])
  })

  it('has an integrity hash for every package of the lock file, and names no registry', () => {
    const without = Object.entries(lock.packages).filter(
      ([name, entry]) =>
        name !== '' && !entry.link && !entry.integrity && !name.includes('/node_modules/node/'),
    )
    expect(without.map(([name]) => name)).toEqual([])
    expect(read('package-lock.json')).not.toMatch(/https?:\/\/registry/)
  })

  it('lets only known packages run scripts at install', () => {
    const withScripts = Object.entries(lock.packages)
      .filter(([, entry]) => entry.hasInstallScript)
      .map(([name]) => name.replace(/^.*node_modules\//, ''))
      .sort()
    expect(withScripts).toEqual(
      ['@serialport/bindings-cpp', 'electron-winstaller', 'fsevents', 'koffi', 'node'].filter((name) =>
        withScripts.includes(name),
      ),
    )
    expect(
      Object.keys(packageJson.scripts).filter((name) => /^(pre|post)?install$|^prepare$/.test(name)),
    ).toEqual([])
  })

  it('says of every package with an install script whether it may run, so that no npm has to ask', () => {
    const scripted = Object.entries(lock.packages)
      .filter(([, entry]) => entry.hasInstallScript || entry.gypfile === false)
      .map(([name]) => name.replace(/^.*node_modules\//, ''))
    expect([...new Set(scripted)].filter((name) => !(name in packageJson.allowScripts))).toEqual([])
  })

  it('builds nothing at install: a machine without a compiler takes the binaries that are shipped', () => {
    expect(unmarked(lock)).toEqual([])
    expect(lock.packages['node_modules/better-sqlite3']?.gypfile).toBe(false)
    expect(packageJson.allowScripts['better-sqlite3']).toBe(false)
    // As npm leaves the lock after `npm install`.
    const stripped: typeof lock = {
      ...lock,
      packages: Object.fromEntries(
        Object.entries(lock.packages).map(([place, { gypfile: _, ...entry }]) => [place, entry]),
      ),
    }
    expect(unmarked(stripped)).toEqual(['node_modules/better-sqlite3'])
    expect(marked(stripped)).toEqual(lock)
  })

  it('ships nothing whose licence forbids it', () => {
    const licences = JSON.parse(
      execFileSync(
        process.execPath,
        [
          join(root, 'node_modules/license-checker-rseidelsohn/bin/license-checker-rseidelsohn.js'),
          '--production',
          '--json',
          '--excludePrivatePackages',
        ],
        { cwd: root, encoding: 'utf8', maxBuffer: 64 * 1024 * 1024 },
      ),
    ) as Record<string, { licenses: string | string[] }>
    const mayShip = (expression: string) =>
      expression
        .replaceAll(/[()*]/g, '')
        .split(' OR ')
        .some((choice) => choice.split(' AND ').every((licence) => ALLOWED.has(licence)))
    const doubtful = Object.entries(licences)
      .map(([name, { licenses }]) => ({ name, expression: [licenses].flat().join(' AND ') }))
      .filter(({ expression }) => !mayShip(expression))
    expect(Object.keys(licences).length).toBeGreaterThan(20)
    expect(doubtful).toEqual([])
  })

  it('knows every native file that the core loads, by its hash', () => {
    const found = nativeIn([
      'node_modules/better-sqlite3/prebuilds',
      'node_modules/@serialport/bindings-cpp/prebuilds',
    ])
    expect(found).toEqual(NATIVE)
  })
  it('knows those of the system at hand by their hash as well', () => {
    const found = nativeIn(['node_modules/@koromix', 'node_modules/@node-usb'])
    expect(Object.keys(found).length).toBeGreaterThanOrEqual(2)
    const unknown = Object.entries(found).filter(([path, hash]) => NATIVE_PACKAGES[path] !== hash)
    expect(unknown).toEqual([])
    // Every system that the desktop program is made for has its own.
    for (const target of [
      'linux-x64',
      'linux-arm64',
      'win32-x64',
      'win32-arm64',
      'darwin-x64',
      'darwin-arm64',
    ])
      for (const scope of ['@koromix/koffi', '@node-usb/usb'])
        expect(
          Object.keys(NATIVE_PACKAGES).some((path) => path.includes(`${scope}-${target}`)),
          `${scope} ${target}`,
        ).toBe(true)
  })
})

/** Native files under some folders, with the hash of their content. */
function nativeIn(folders: readonly string[]): Record<string, string> {
  const found: Record<string, string> = {}
  for (const folder of folders) {
    if (!existsSync(join(root, folder))) continue
    for (const entry of readdirSync(join(root, folder), { recursive: true, withFileTypes: true })) {
      if (!entry.isFile() || !entry.name.endsWith('.node')) continue
      const path = join(entry.parentPath, entry.name)
      found[relative(root, path).split('\\').join('/')] = createHash('sha256')
        .update(readFileSync(path))
        .digest('hex')
    }
  }
  return found
}
