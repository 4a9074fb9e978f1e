import { spawnSync } from 'node:child_process'
import { cpSync, mkdirSync, mkdtempSync, readdirSync, rmSync, symlinkSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'

const root = join(import.meta.dirname, '../..')
const cruiser = join(root, 'node_modules/dependency-cruiser/bin/dependency-cruiser.mjs')
const FOLDERS = ['app', 'drivers', 'simulator', 'main', 'renderer']

interface Cruise {
  modules: { source: string; dependencies: { resolved: string }[] }[]
  summary: { totalCruised: number; violations: { from: string; rule: { name: string } }[] }
}

function cruise(folder: string): Cruise {
  const { stdout } = spawnSync(
    process.execPath,
    [cruiser, '--config', '.dependency-cruiser.mjs', '--output-type', 'json', ...FOLDERS],
    { cwd: folder, encoding: 'utf8', maxBuffer: 256 * 1024 * 1024 },
  )
  return JSON.parse(stdout) as Cruise
}

/** One planted fault per rule: the file that breaks it, and what it holds. */
const FAULTS: Record<string, [file: string, text: string]> = {
  'no-circular': ['app/ring-a.ts', "import './ring-b.ts'\n"],
  'app-is-pure': ['app/reaches-out.ts', "import type {} from '../drivers/target.ts'\n"],
  'app-no-node': ['app/reads-disk.ts', "import 'node:fs'\n"],
  'renderer-knows-app-only': ['renderer/reaches-main.ts', "import '../main/store/target.ts'\n"],
  'renderer-no-node': ['renderer/reads-disk.ts', "import 'node:fs'\n"],
  'drivers-know-app-only': ['drivers/reaches-lab.ts', "import '../simulator/target.ts'\n"],
  'simulator-knows-app-only': ['simulator/reaches-drivers.ts', "import '../drivers/target.ts'\n"],
  'store-knows-app-only': ['main/store/reaches-station.ts', "import '../station/target.ts'\n"],
  'station-below-host': ['main/station/reaches-host.ts', "import '../host/target.ts'\n"],
  'study-below-host': ['main/study/reaches-host.ts', "import '../host/target.ts'\n"],
  'host-below-desktop': ['main/host/reaches-desktop.ts', "import '../desktop/target.ts'\n"],
  'electron-in-desktop-only': ['main/host/opens-window.ts', "import 'electron'\n"],
  'sqlite-in-store-only': ['main/station/opens-database.ts', "import 'better-sqlite3'\n"],
  'serialport-in-drivers-only': ['main/station/opens-port.ts', "import 'serialport'\n"],
  'usb-and-foreign-libraries-in-links-only': ['main/station/opens-usb.ts', "import 'usb'\n"],
  'sockets-in-links-only': ['main/station/opens-socket.ts', "import 'node:net'\n"],
  'decimal-through-one-door': ['app/statistics/own-decimal.ts', "import 'decimal.js'\n"],
  'place-knows-no-place': ['renderer/archive/reaches-plan.ts', "import '../plan/target.ts'\n"],
  'window-below-places': ['renderer/desk/reaches-plan.ts', "import '../plan/target.ts'\n"],
  'sheet-below-shell': ['renderer/sheet/reaches-shell.ts', "import '../shell/target.ts'\n"],
  resolvable: ['app/dangling.ts', "import './nowhere.ts'\n"],
}

const TARGETS = [
  ['app/ring-b.ts', "import './ring-a.ts'\n"],
  ['drivers/target.ts', 'export {}\n'],
  ['simulator/target.ts', 'export {}\n'],
  ['main/store/target.ts', 'export {}\n'],
  ['main/station/target.ts', 'export {}\n'],
  ['main/host/target.ts', 'export {}\n'],
  ['main/desktop/target.ts', 'export {}\n'],
  ['renderer/plan/target.ts', 'export {}\n'],
  ['renderer/shell/target.ts', 'export {}\n'],
] as const

/** Folders of one house that import each other, as 'plan watch'. */
function mutual({ modules }: Cruise, house: string): string[] {
  const folderOf = (file: string) => new RegExp(`^${house}/([^/]+)/`).exec(file)?.[1]
  const arrows = new Set<string>()
  for (const { source, dependencies } of modules) {
    const from = folderOf(source)
    for (const { resolved } of dependencies) {
      const to = folderOf(resolved)
      if (from !== undefined && to !== undefined && from !== to) arrows.add(`${from} ${to}`)
    }
  }
  return [...arrows].filter((arrow) => arrows.has(arrow.split(' ').reverse().join(' ')))
}

describe('the wall between the folders', () => {
  let planted: string
  let found: Cruise

  beforeAll(() => {
    planted = mkdtempSync(join(tmpdir(), 'stillpoint-wall-'))
    for (const file of ['.dependency-cruiser.mjs', 'package.json', 'tsconfig.json', 'tsconfig.node.json']) {
      cpSync(join(root, file), join(planted, file))
    }
    symlinkSync(join(root, 'node_modules'), join(planted, 'node_modules'), 'junction')
    for (const [file, text] of [...Object.values(FAULTS), ...TARGETS]) {
      mkdirSync(dirname(join(planted, file)), { recursive: true })
      writeFileSync(join(planted, file), text)
    }
    found = cruise(planted)
  })
  afterAll(() => rmSync(planted, { recursive: true, force: true }))

  it.each(Object.entries(FAULTS))('sees a fault planted against %s', (rule, [file]) => {
    const names = found.summary.violations
      .filter((violation) => violation.from === file)
      .map((violation) => violation.rule.name)
    expect(names).toContain(rule)
  })

  it('sees two folders that import each other though no two files do', () => {
    const between = (source: string, resolved: string) => ({ source, dependencies: [{ resolved }] })
    const modules = [between('app/live/a.ts', 'app/plan/b.ts'), between('app/plan/c.ts', 'app/live/d.ts')]
    expect(mutual({ ...found, modules }, 'app')).toEqual(['live plan', 'plan live'])
  })

  it('has a planted fault for every rule it declares', async () => {
    const config = (await import(join(root, '.dependency-cruiser.mjs'))) as {
      default: { forbidden: { name: string }[] }
    }
    expect(Object.keys(FAULTS).sort()).toEqual(config.default.forbidden.map((rule) => rule.name).sort())
  })

  it('walks every source file of the project, and finds nothing', () => {
    const real = cruise(root)
    const sources = FOLDERS.flatMap((folder) =>
      readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' }),
    ).filter((file) => /\.(ts|tsx|mjs)$/.test(file))
    expect(real.summary.totalCruised).toBeGreaterThanOrEqual(sources.length)
    expect(real.summary.violations.map((violation) => `${violation.from}: ${violation.rule.name}`)).toEqual(
      [],
    )
    for (const house of ['app', 'drivers', 'main', 'renderer'])
      expect([house, mutual(real, house)]).toEqual([house, []])
  })
})
