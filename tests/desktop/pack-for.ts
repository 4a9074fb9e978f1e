import { execFileSync } from 'node:child_process'
import { chmodSync, existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { join } from 'node:path'
import { listPackage, statFile } from '@electron/asar'
import { parse } from 'yaml'
import { ensureDesktop, ensurePage } from '../../main/host/built.ts'

const root = join(import.meta.dirname, '../..')
const builder = createRequire(join(root, 'node_modules/app-builder-lib/package.json'))

export type Target = 'linux' | 'win' | 'mac'

/** As much of an unpacked Electron as the builder looks at. */
function makeDistribution(target: Target, folder: string): void {
  for (const name of ['LICENSE', 'LICENSES.chromium.html']) writeFileSync(join(folder, name), '')
  if (target === 'mac') {
    const contents = makeApp(folder, 'Electron')
    for (const kind of ['', ' (GPU)', ' (Plugin)', ' (Renderer)'])
      makeApp(join(contents, 'Frameworks'), `Electron Helper${kind}`)
    return
  }
  mkdirSync(join(folder, 'resources'))
  mkdirSync(join(folder, 'locales'))
  const program = join(folder, target === 'win' ? 'electron.exe' : 'electron')
  writeFileSync(program, target === 'win' ? emptyWindowsProgram() : '')
  chmodSync(program, 0o755)
}

function makeApp(folder: string, name: string): string {
  const contents = join(folder, `${name}.app/Contents`)
  for (const part of ['MacOS', 'Resources', 'Frameworks'])
    mkdirSync(join(contents, part), { recursive: true })
  const facts = {
    CFBundleExecutable: name,
    CFBundleName: name,
    CFBundleIdentifier: name.replaceAll(/\W/g, ''),
  }
  const rows = Object.entries(facts).map(([key, value]) => `<key>${key}</key><string>${value}</string>`)
  writeFileSync(
    join(contents, 'Info.plist'),
    `<?xml version="1.0" encoding="UTF-8"?><plist version="1.0"><dict>${rows.join('')}</dict></plist>`,
  )
  writeFileSync(join(contents, 'MacOS', name), '')
  return contents
}

/** As much of the builder's own library for Windows programs as is needed here. */
interface ResEdit {
  NtExecutable: { createEmpty(is32: boolean, isDll: boolean): { generate(): ArrayBuffer } }
  NtExecutableResource: {
    from(program: object): { entries: object[]; outputResource(program: object): void }
  }
  Resource: {
    VersionInfo: {
      createEmpty(): {
        lang: number
        setFileVersion(major: number, minor: number, micro: number, revision: number, lang: number): void
        setStringValues(language: { lang: number; codepage: number }, values: Record<string, string>): void
        outputToResourceEntries(entries: object[]): void
      }
    }
  }
}

/** A program of no code with a version, which the builder reads and writes anew. */
function emptyWindowsProgram(): Buffer {
  const { NtExecutable, NtExecutableResource, Resource } = builder('resedit') as ResEdit
  const program = NtExecutable.createEmpty(false, false)
  const resources = NtExecutableResource.from(program)
  const version = Resource.VersionInfo.createEmpty()
  version.lang = 1033
  version.setFileVersion(1, 0, 0, 0, 1033)
  version.setStringValues({ lang: 1033, codepage: 1200 }, { ProductName: 'Electron' })
  version.outputToResourceEntries(resources.entries)
  resources.outputResource(program)
  return Buffer.from(program.generate())
}

/** The icon in the container that macOS reads, so that the builder has nothing to convert (and to fetch a tool for). */
function macIcon(): Buffer {
  const png = readFileSync(join(root, 'main/desktop/resources/icon.png'))
  const head = Buffer.alloc(16)
  head.write('icns', 0)
  head.writeUInt32BE(png.length + 16, 4)
  head.write('ic09', 8)
  head.writeUInt32BE(png.length + 8, 12)
  return Buffer.concat([head, png])
}

export interface Packed {
  /** The unpacked program. */
  readonly program: string
  readonly archive: string
  /** Names in the archive, with slashes. */
  readonly names: readonly string[]
}

/**
 * Packs as electron-builder.yml says, up to the step that needs Electron's binary: a made-up distribution stands in for
 * it, and so the fuses, which are bits of that binary, and signatures are left out.
 */
export function packFor(target: Target, folder: string): Packed {
  ensurePage()
  ensureDesktop()
  if (!existsSync(join(root, 'THIRD-PARTY.txt'))) execFileSync('npm', ['run', 'licences'], { cwd: root })
  const distribution = join(folder, 'electron')
  const output = join(folder, 'packages')
  mkdirSync(distribution, { recursive: true })
  makeDistribution(target, distribution)
  const { electronFuses: _, ...config } = parse(
    readFileSync(join(root, 'electron-builder.yml'), 'utf8'),
  ) as Record<string, object>
  const icon = join(folder, 'icon.icns')
  writeFileSync(icon, macIcon())
  const configFile = join(folder, 'builder.json')
  writeFileSync(
    configFile,
    JSON.stringify({
      ...config,
      electronDist: distribution,
      directories: { ...config.directories, output },
      win: { ...config.win, signAndEditExecutable: false },
      mac: { ...config.mac, identity: null, icon },
    }),
  )
  execFileSync(
    process.execPath,
    [
      join(root, 'node_modules/electron-builder/cli.js'),
      `--${target}`,
      'dir',
      `--${process.arch}`,
      '--config',
      configFile,
    ],
    { cwd: root, stdio: 'pipe', timeout: 170_000 },
  )
  const arm = process.arch === 'x64' ? '' : `-${process.arch}`
  const program =
    target === 'mac' ? join(output, `mac${arm}/Stillpoint.app`) : join(output, `${target}${arm}-unpacked`)
  const archive = join(program, target === 'mac' ? 'Contents/Resources/app.asar' : 'resources/app.asar')
  const names = listPackage(archive, { isPack: false })
    .map((path) => path.replaceAll('\\', '/').replace(/^\//, ''))
    .filter((path) => !('files' in statFile(archive, path)))
  return { program, archive, names }
}
