import { spawn, spawnSync } from 'node:child_process'
import { existsSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { Command } from 'commander'
import { ensureDesktop, ensurePage } from '../built.ts'
import { stationCommand } from './station.ts'

const root = join(import.meta.dirname, '../../..')
const electronFolder = join(root, 'node_modules/electron')
const FETCH_MS = 120_000

/** The desktop program's binary, or undefined where it is not on this machine. */
function binary(): string | undefined {
  const pathFile = join(electronFolder, 'path.txt')
  if (!existsSync(pathFile)) return undefined
  const path = join(electronFolder, 'dist', readFileSync(pathFile, 'utf8').trim())
  return existsSync(path) ? path : undefined
}

/** Asks Electron's own installer once; it says nothing and changes nothing where there is no way out. */
function fetchBinary(): string | undefined {
  if (!existsSync(join(electronFolder, 'install.js'))) return undefined
  spawnSync(process.execPath, [join(electronFolder, 'install.js')], { stdio: 'ignore', timeout: FETCH_MS })
  return binary()
}

export function desktopCommand(): Command {
  return new Command('desktop')
    .option('--no-fetch', "do not try to fetch Electron's binary")
    .action(async (options: { fetch: boolean }) => {
      const program = binary() ?? (options.fetch ? fetchBinary() : undefined)
      if (!program) {
        console.log(
          "Electron's binary cannot be had on this machine; opening the same window as a page instead.",
        )
        await stationCommand().parseAsync([], { from: 'user' })
        return
      }
      ensurePage()
      const built = ensureDesktop()
      const child = spawn(program, [join(built, 'main.mjs')], { stdio: 'inherit' })
      process.exitCode = await new Promise<number>((resolve) =>
        child.on('exit', (code) => resolve(code ?? 1)),
      )
    })
}
