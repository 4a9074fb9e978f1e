import { createHash } from 'node:crypto'
import { existsSync, readdirSync, readFileSync, statSync } from 'node:fs'
import { readFile } from 'node:fs/promises'
import { cpus, release, type as systemType } from 'node:os'
import { dirname, join } from 'node:path'
import type { ProgramFacts } from '../../../app/validation/record.ts'
import packageJson from '../../../package.json' with { type: 'json' }

/** Folders of a checkout that are the program; tests, docs and what was built of it are not. */
const SOURCES = ['app', 'drivers', 'main', 'simulator', 'renderer', 'package.json', 'package-lock.json']
/** What a package holds of it. */
const PACKED = ['dist', 'package.json']
/** Files hashed between two turns of the loop. */
const AT_ONCE = 16

/** The folder of the program: the nearest above this file with the program's own package.json. */
export function programFolder(from = import.meta.dirname): string {
  for (let folder = from; ; folder = dirname(folder)) {
    const file = join(folder, 'package.json')
    if (
      existsSync(file) &&
      (JSON.parse(readFileSync(file, 'utf8')) as { name: string }).name === packageJson.name
    )
      return folder
    if (folder === dirname(folder))
      throw new Error(`The program's own package.json was not found above ${from}.`)
  }
}

/** By hand and not by `recursive`: in a package the files lie in an archive, which knows only plain listings. */
function* filesUnder(root: string, path: string): Generator<string> {
  const whole = join(root, path)
  if (!existsSync(whole)) return
  if (!statSync(whole).isDirectory()) yield path
  else for (const name of readdirSync(whole)) yield* filesUnder(root, `${path}/${name}`)
}

const sha256 = (data: string | Uint8Array) => createHash('sha256').update(data).digest('hex')

async function hashed(root: string, paths: readonly string[]): Promise<{ path: string; sha256: string }[]> {
  const done: { path: string; sha256: string }[] = []
  for (let i = 0; i < paths.length; i += AT_ONCE) {
    const some = paths.slice(i, i + AT_ONCE)
    done.push(
      ...(await Promise.all(
        some.map(async (path) => ({ path, sha256: sha256(await readFile(join(root, path))) })),
      )),
    )
  }
  return done
}

/** Hash of a list of files: of their names and hashes, in the order of their names. */
export const hashOfFiles = (files: readonly { path: string; sha256: string }[]): string =>
  sha256(files.map(({ path, sha256: hash }) => `${hash}  ${path}\n`).join(''))

/** Packages as they are installed; undefined where they are inside the program's own files. */
function packagesOf(root: string): { name: string; version: string }[] {
  return Object.keys(packageJson.dependencies).flatMap((name) => {
    const file = join(root, 'node_modules', name, 'package.json')
    if (!existsSync(file)) return []
    const { version } = JSON.parse(readFileSync(file, 'utf8')) as { version: string }
    return { name, version }
  })
}

/**
 * What is installed here: the version, every file of the program with its hash, the packages beside it, the runtime and
 * the system. The fingerprint is the hash of the files and the packages: another program has another.
 */
export async function installedProgram(root = programFolder()): Promise<ProgramFacts> {
  const paths = (existsSync(join(root, 'app')) ? SOURCES : PACKED)
    .flatMap((path) => [...filesUnder(root, path)])
    .sort()
  const files = await hashed(root, paths)
  const packages = packagesOf(root)
  const { node = '', v8 = '', electron } = process.versions
  return {
    name: 'Stillpoint',
    version: packageJson.version,
    fingerprint: sha256(
      hashOfFiles(files) + packages.map(({ name, version }) => `${name} ${version}\n`).join(''),
    ),
    files,
    packages,
    runtime: { node, v8, ...(electron && { electron }), system: release() },
    platform: `${systemType()} ${process.arch}`,
    processor: cpus()[0]?.model.trim() ?? 'not known',
  }
}
