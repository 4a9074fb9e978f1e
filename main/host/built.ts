import { spawnSync } from 'node:child_process'
import { existsSync, readdirSync, statSync } from 'node:fs'
import { join } from 'node:path'

const root = join(import.meta.dirname, '../..')

/** The built window, served as a page or by the desktop program. */
export const PAGE_FOLDER = join(root, 'dist/renderer')
export const DESKTOP_FOLDER = join(root, 'dist/desktop')

function newestIn(folder: string): number {
  let newest = 0
  for (const entry of readdirSync(folder, { recursive: true, withFileTypes: true })) {
    if (entry.isFile()) newest = Math.max(newest, statSync(join(entry.parentPath, entry.name)).mtimeMs)
  }
  return newest
}

function isCurrent(built: string, sources: readonly string[]): boolean {
  if (!existsSync(built)) return false
  const present = sources.map((source) => join(root, source)).filter((source) => existsSync(source))
  if (present.length === 0) return true
  const builtAt = statSync(built).mtimeMs
  return present.every((source) => newestIn(source) <= builtAt)
}

function vite(args: string[], environment: Record<string, string> = {}): void {
  const { status, stderr } = spawnSync(
    process.execPath,
    [join(root, 'node_modules/vite/bin/vite.js'), 'build', '--logLevel', 'warn', ...args],
    {
      cwd: root,
      encoding: 'utf8',
      env: { ...process.env, ...environment },
    },
  )
  if (status !== 0)
    throw new Error(`The window could not be built: ${stderr.trim().split('\n').slice(0, 3).join(' ')}`)
}

/** Builds the window when it is missing or older than its sources. In a packaged program it is always there. */
export function ensurePage(): string {
  const built = join(PAGE_FOLDER, 'index.html')
  if (!isCurrent(built, ['renderer', 'app'])) vite([])
  return PAGE_FOLDER
}

/** The same for the desktop shell and the core that it starts. */
export function ensureDesktop(): string {
  const main = join(DESKTOP_FOLDER, 'main.mjs')
  if (!isCurrent(main, ['main', 'app', 'drivers', 'simulator'])) {
    vite(['--config', 'vite.desktop.config.ts'])
    vite(['--config', 'vite.desktop.config.ts'], { STILLPOINT_BUILD: 'preload' })
  }
  return DESKTOP_FOLDER
}
