import { resolve } from 'node:path'
import { Command } from 'commander'
import packageJson from '../../../package.json' with { type: 'json' }
import { bundleOfFolder } from '../../station/support-bundle.ts'
import { writeThenRename } from '../../store/export/file.ts'
import { defaultDataFolder } from '../data-folder.ts'

const HELP = `For a station that runs, the window's own command says more (state, links, traffic). No password, token or reading is in
the bundle: look at it with "gzip -dc FILE" before you send it.`

export function bundleCommand(): Command {
  return new Command('bundle')
    .option('--data <folder>', 'data folder of the station', defaultDataFolder())
    .option('--out <file>', 'where to write it', 'stillpoint-support.json.gz')
    .addHelpText('after', `\n${HELP}`)
    .action(({ data, out }: { data: string; out: string }) => {
      const bytes = bundleOfFolder(resolve(data), `Stillpoint ${packageJson.version}`)
      writeThenRename(resolve(out), (file) => file.write(bytes), 0o600)
      console.log(`${resolve(out)}: ${bytes.length} bytes. Passwords and tokens are left out.`)
    })
}
