import { existsSync, globSync, mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { isBuiltin } from 'node:module'
import { tmpdir } from 'node:os'
import { join, posix } from 'node:path'
import { extractAll, extractFile, statFile } from '@electron/asar'
import type { Browser } from 'playwright'
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest'
import type { ValidationRecord } from '../../app/validation/record.ts'
import { runShell, type Shell } from '../../main/desktop/shell.ts'
import { launchChromium } from '../browser/chromium.ts'
import { withCore } from './core-client.ts'
import { packFor } from './pack-for.ts'
import { type StandIn, standIn } from './stand-in.ts'

/**
 * Takes the packed program's archive apart and runs the core in it, away from the checkout, so that nothing can be found
 * but what was packed.
 */

const here = `${process.platform}-${process.arch}`

const ROOT = join(import.meta.dirname, '../..')

/** What a module written by the bundler imports, statically or when it is wanted. */
function importsOf(text: string): string[] {
  const code = text.replace(/^\s*(?:\*|\/\*|\/\/).*$/gm, '')
  const found = code.matchAll(
    /(?:^|;|\})\s*(?:import|export)\b[^;'"`()]*?["']([^"']+)["']|\bimport\(\s*["']([^"']+)["']\s*\)/gm,
  )
  // The bundle also holds commands as text, in which sources (.ts) are named.
  return [...found].map(([, still, later]) => (still ?? later)!).filter((name) => !name.endsWith('.ts'))
}

let folder: string
let archive: string
let packed: readonly string[]

beforeAll(() => {
  if (process.platform !== 'linux') return
  folder = mkdtempSync(join(tmpdir(), 'stillpoint-packed-'))
  ;({ archive, names: packed } = packFor('linux', folder))
}, 180_000)
afterAll(() => folder && rmSync(folder, { recursive: true, force: true }))

if (process.platform !== 'linux')
  console.log('The packed program is not tried here: its test packs for Linux.')

describe.skipIf(process.platform !== 'linux')('the packed program', () => {
  it('starts at the built shell', () => {
    extractAll(archive, join(folder, 'program'))
    const { main, devDependencies, scripts } = JSON.parse(
      readFileSync(join(folder, 'program/package.json'), 'utf8'),
    ) as Record<string, unknown>
    expect(main).toBe('dist/desktop/main.mjs')
    expect([devDependencies, scripts]).toEqual([undefined, undefined])
  })

  it('holds the built window, shell, core, profiles and licences', () => {
    for (const path of [
      'dist/renderer/index.html',
      'dist/desktop/main.mjs',
      'dist/desktop/core.mjs',
      'dist/desktop/preload.cjs',
      'dist/desktop/icon.png',
      'LICENSE',
      'THIRD-PARTY.txt',
      'package.json',
    ])
      expect(packed).toContain(path)
    expect(packed.filter((path) => /^dist\/profiles\/[\w-]+\.json$/.test(path)).length).toBeGreaterThan(5)
  })

  it('holds nothing else: no sources, tests, maps, declarations or build files', () => {
    const allowed =
      /^(dist\/(renderer|desktop|profiles)\/|node_modules\/|LICENSE$|THIRD-PARTY\.txt$|package\.json$)/
    expect(packed.filter((path) => !allowed.test(path))).toEqual([])
    expect(
      packed.filter((path) =>
        /\.(ts|tsx|mts|map|md|c|cc|h|gyp|gypi|py|yml)$|(^|\/)(tests?|src\/.*\.cpp)\//.test(path),
      ),
    ).toEqual([])
    expect(packed.filter((path) => path.startsWith('dist/packages'))).toEqual([])
  })

  it('packs only the packages that carry native code, what they need, and the fonts of the report', () => {
    const packages = packed
      .filter((path) => path.startsWith('node_modules/'))
      .map((path) =>
        /^node_modules\/((?:@[^/]+\/)?[^/]+)/
          .exec(path)![1]!
          .replace(/^(@(?:serialport|node-usb|koromix))\/.*/, '$1/*'),
      )
    expect([...new Set(packages)].sort()).toEqual([
      '@fontsource/inter',
      '@koromix/*',
      '@node-usb/*',
      '@serialport/*',
      'better-sqlite3',
      'debug',
      'koffi',
      'ms',
      'node-gyp-build',
      'pdfmake',
      'serialport',
      'usb',
    ])
    expect(packed.filter((path) => /^node_modules\/(pdfmake|@fontsource)\/.*\.js$/.test(path))).toEqual([])
  })

  it('leaves native files outside the archive, for this platform only', () => {
    const native = packed.filter((path) => path.endsWith('.node'))
    expect(native.length).toBeGreaterThanOrEqual(2)
    for (const path of native) {
      expect(path).toContain(here)
      expect(statFile(archive, path)).toMatchObject({ unpacked: true })
      expect(existsSync(join(`${archive}.unpacked`, path))).toBe(true)
    }
  })

  it('holds every thread that the sources start, and whatever core, shell and threads import', () => {
    // Electron reads modules from the archive in threads as in the main process (electron/electron, pull request 33216), so
    // that nothing but native files has to lie outside; what is not in it would be missed only when it is first wanted.
    const threads = globSync('main/**/*.ts', { cwd: ROOT })
      .flatMap((file) => [...readFileSync(join(ROOT, file), 'utf8').matchAll(/workerScript\('([\w-]+)'/g)])
      .map(([, name]) => `dist/desktop/${name}.mjs`)
    expect(threads.length).toBeGreaterThanOrEqual(4)
    const waiting = [
      'dist/desktop/main.mjs',
      'dist/desktop/core.mjs',
      'dist/desktop/visa-process.mjs',
      ...threads,
    ]
    const seen = new Set<string>()
    const packages = new Set<string>()
    for (let path = waiting.pop(); path !== undefined; path = waiting.pop()) {
      if (seen.has(path)) continue
      seen.add(path)
      expect(packed).toContain(path)
      for (const wanted of importsOf(extractFile(archive, path).toString()))
        if (wanted.startsWith('.')) waiting.push(posix.join(posix.dirname(path), wanted))
        else packages.add(/^(@[^/]+\/)?[^/]+/.exec(wanted)![0])
    }
    expect(seen.size).toBeGreaterThan(threads.length + 2)
    const outside = [...packages].filter((name) => name !== 'electron' && !isBuiltin(name))
    expect(outside).toContain('better-sqlite3')
    for (const name of outside) expect(packed).toContain(`node_modules/${name}/package.json`)
  })

  describe('away from the checkout', () => {
    let browser: Browser
    let stand: StandIn
    let shell: Shell
    const said: string[] = []

    beforeAll(async () => {
      const program = join(folder, 'program')
      if (!existsSync(program)) extractAll(archive, program)
      browser = await launchChromium()
      stand = await standIn(browser, join(folder, 'data'))
      const starting = runShell(
        stand.electron,
        {
          page: join(program, 'dist/renderer'),
          preload: join(program, 'dist/desktop/preload.cjs'),
          core: join(program, 'dist/desktop/core.mjs'),
          visa: join(program, 'dist/desktop/visa-process.mjs'),
          icon: join(program, 'dist/desktop/icon.png'),
          station: join(folder, 'data/station'),
        },
        (words) => said.push(words),
      )
      stand.entryEnds()
      shell = (await starting)!
      await vi.waitFor(() => expect(shell.core.ready, said.join('\n')).toBe(true), { timeout: 60_000 })
    }, 120_000)
    afterAll(async () => {
      await stand?.close()
      await browser?.close()
    })

    it('tries itself when it is told to, window and core, and ends with 0', async () => {
      const program = join(folder, 'program')
      const trying = await standIn(browser, join(folder, 'self-test'), { packaged: true })
      try {
        const starting = runShell(
          trying.electron,
          {
            page: join(program, 'dist/renderer'),
            preload: join(program, 'dist/desktop/preload.cjs'),
            core: join(program, 'dist/desktop/core.mjs'),
            visa: join(program, 'dist/desktop/visa-process.mjs'),
            icon: join(program, 'dist/desktop/icon.png'),
            station: join(folder, 'self-test/station'),
          },
          (words) => said.push(words),
          { selfTest: true },
        )
        trying.entryEnds()
        await starting
        await vi.waitFor(() => expect(trying.seen.exits, said.join('\n')).toEqual([0]), { timeout: 120_000 })
        expect(said.join('\n')).toMatch(/Self-test passed: \d+ profiles, \d+ links, \d+ readings recorded/)
      } finally {
        await trying.close()
      }
    }, 150_000)

    it('validates itself, in a thread of its own, by its own packed files', async () => {
      await withCore(stand, shell, async (core) => {
        await core.people.enterFirst({ name: 'C. Keeper', password: 'a long enough one' })
        expect((await core.validation.run()).words).toMatch(/^Passed: \d+ checks/)
        const { last, fingerprint } = await core.validation.state()
        expect(last).toMatchObject({ verdict: 'passed', fingerprint, failed: 0 })
        const paper = async (format: 'json' | 'pdf') =>
          Buffer.from(await (await core.validation.paper({ id: last!.id, format })).arrayBuffer())
        const { program } = JSON.parse((await paper('json')).toString()) as ValidationRecord
        expect(program.files.map(({ path }) => path)).toContain('dist/desktop/core.mjs')
        expect((await paper('pdf')).subarray(0, 5).toString()).toBe('%PDF-')
      })
    }, 150_000)

    it('shows the packed window, joined to the packed core', async () => {
      const window = stand.seen.windows[0]!
      await window.ready
      await window.webContents.page!.getByRole('navigation').waitFor()
      await window.webContents.page!.locator('.state-fact').first().waitFor({ timeout: 60_000 })
    }, 120_000)
  })
})
