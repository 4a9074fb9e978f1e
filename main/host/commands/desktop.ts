import { existsSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { Command } from 'commander'
import { ensureDesktop, ensurePage } from '../built.ts'
import { fetchElectron, runElectron } from '../run-electron.ts'
import { stationCommand } from './station.ts'

const root = join(import.meta.dirname, '../../..')
const electronFolder = join(root, 'node_modules/electron')

/** The desktop program's binary, or undefined where it is not on this machine. */
function binary(): string | undefined {
  const pathFile = join(electronFolder, 'path.txt')
  if (!existsSync(pathFile)) return undefined
  const path = join(electronFolder, 'dist', readFileSync(pathFile, 'utf8').trim())
  return existsSync(path) ? path : undefined
}

export function desktopCommand(): Command {
  return new Command('desktop')
    .option('--no-fetch', "do not try to fetch Electron's binary")
    .action(async (options: { fetch: boolean }) => {
      let program = binary()
      let whyNot = 'it has not been fetched'
      if (!program && options.fetch) {
        whyNot = fetchElectron(join(electronFolder, 'install.js')) ?? whyNot
        program = binary()
      }
      if (!program) {
        console.log(
          `Electron's binary cannot be had on this machine (${whyNot}); opening the same window as a page instead.`,
        )
        await stationCommand().parseAsync([], { from: 'user' })
        return
      }
      ensurePage()
      const ended = await runElectron(program, [join(ensureDesktop(), 'main.mjs')])
      if (ended === 'no-sandbox') {
        console.log(
          'This system lets the program have no sandbox; an installed package brings the profile that allows it (docs/desktop.md). Opening the same window as a page instead.',
        )
        await stationCommand().parseAsync([], { from: 'user' })
      } else process.exitCode = ended
    })
}
