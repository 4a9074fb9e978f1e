import { spawnSync } from 'node:child_process'
import { existsSync, readdirSync, rmSync, statSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { renameWhole } from '../store/rename-whole.ts'

const root = join(import.meta.dirname, '../..')

/** The built window, served as a page or by the desktop program. */
export const PAGE_FOLDER = join(root, 'dist/renderer')
export const DESKTOP_FOLDER = join(root, 'dist/desktop')

/** An installation without what only developers need (`npm ci --omit=dev`) has nothing to build with. */
const builder = join(root, 'node_modules/vite/bin/vite.js')

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

/** Whether what is built is to be taken as it is. */
function isAsShipped(built: string): boolean {
  if (existsSync(builder)) return false
  if (existsSync(built)) return true
  throw new Error(
    `There is no built window in ${dirname(built)}, and nothing to build it with. Run "npm ci && npm run build" in a full checkout and copy its dist folder here.`,
  )
}

function vite(args: string[], environment: Record<string, string> = {}): void {
  const { status, stderr } = spawnSync(process.execPath, [builder, 'build', '--logLevel', 'warn', ...args], {
    cwd: root,
    encoding: 'utf8',
    // Whoever builds, tests included, the page gets the libraries' production form.
    env: { ...process.env, NODE_ENV: 'production', ...environment },
  })
  if (status !== 0)
    throw new Error(`The window could not be built: ${stderr.trim().split('\n').slice(0, 3).join(' ')}`)
}

/** Builds beside the folder and puts the whole in its place, so that whoever reads it meanwhile never finds half of it. */
function replaceWhole(folder: string, build: (into: string) => void): void {
  const fresh = `${folder}.${process.pid}.new`
  const stale = `${folder}.${process.pid}.old`
  try {
    build(fresh)
    if (existsSync(folder)) renameWhole(folder, stale)
    renameWhole(fresh, folder)
  } finally {
    for (const left of [fresh, stale]) rmSync(left, { recursive: true, force: true })
  }
}

export function buildPage(): void {
  replaceWhole(PAGE_FOLDER, (into) => vite(['--outDir', into]))
}

export function buildDesktop(): void {
  replaceWhole(DESKTOP_FOLDER, (into) => {
    const args = ['--config', 'vite.desktop.config.ts', '--outDir', into]
    vite(args)
    vite(args, { STILLPOINT_BUILD: 'preload' })
  })
}

/** Builds the window when it is missing or older than its sources. In a packaged program it is always there. */
export function ensurePage(): string {
  const page = join(PAGE_FOLDER, 'index.html')
  if (!isAsShipped(page) && !isCurrent(page, ['renderer', 'app'])) buildPage()
  return PAGE_FOLDER
}

/** The same for the desktop shell and the core that it starts. */
export function ensureDesktop(): string {
  const main = join(DESKTOP_FOLDER, 'main.mjs')
  if (!isAsShipped(main) && !isCurrent(main, ['main', 'app', 'drivers', 'simulator'])) buildDesktop()
  return DESKTOP_FOLDER
}
