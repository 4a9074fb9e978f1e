import { execFileSync } from 'node:child_process'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { expect, it } from 'vitest'

const ROOT = join(import.meta.dirname, '../..')

/** Packages by name, and files of ours by path, that a program has loaded once `file` is imported, in a process of its own. */
function loadedBy(file: string): string[] {
  const script = `
    import { registerHooks } from 'node:module'
    const found = new Set()
    registerHooks({
      resolve(wanted, context, next) {
        const resolved = next(wanted, context)
        const [, name] = /.*node_modules\\/((?:@[^/]+\\/)?[^/]+)\\//.exec(resolved.url) ?? []
        found.add(name ?? resolved.url.replace(${JSON.stringify(pathToFileURL(ROOT).href)} + '/', ''))
        return resolved
      },
    })
    await import(${JSON.stringify(pathToFileURL(join(ROOT, file)).href)})
    console.log(JSON.stringify([...found]))
    process.exit()
  `
  const told = execFileSync(process.execPath, ['--input-type=module', '--eval', script], {
    cwd: ROOT,
    encoding: 'utf8',
  })
  return JSON.parse(told.trim().split('\n').at(-1)!) as string[]
}

it('loads nothing that prints, signs, searches or sends on into the process that measures', () => {
  const loaded = loadedBy('main/host/commands/station.ts')
  expect(loaded).toEqual(expect.arrayContaining(['better-sqlite3', 'zod', '@orpc/server']))
  const strangers = [
    'pdfmake',
    'xmlbuilder2',
    'pkijs',
    'asn1js',
    'xadesjs',
    '@xmldom/xmldom',
    '@signpdf/signpdf',
    'mqtt',
    'd3-shape',
    'nodemailer',
    'pg',
    'multicast-dns',
  ]
  expect(strangers.filter((name) => loaded.includes(name))).toEqual([])
  // The lab in a box and the analysis of whole sessions come with who asks for them, the analysis in threads of its own.
  expect(loaded).toContain('main/station/station.ts')
  const rooms =
    /^(simulator\/(?!scenarios\/scenario\.ts)|app\/results\/(analysis|uncertainty-monte-carlo)\.ts|main\/study\/(compare-results|replayer)\.ts)/
  expect(loaded.filter((name) => rooms.test(name))).toEqual([])
})
