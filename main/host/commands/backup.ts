import { existsSync, mkdirSync } from 'node:fs'
import { resolve } from 'node:path'
import { Command } from 'commander'
import { counted } from '../../../app/base/plural.ts'
import { RealClock } from '../../station/clocks/real.ts'
import { backUpAll } from '../../store/backup/back-up.ts'
import { openStationStore } from '../../store/station-store.ts'
import { defaultDataFolder } from '../data-folder.ts'

const HELP = `Register, orders, ledger, people, settings, the laboratory's own profiles and templates, certificates and every session, also
beside a running station. The key that certificates are signed with is left out.
What is in the folder already and holds the same is left as it is. Each copy is walked along its hash chain before it counts.

Exit status: 0 everything is copied, 3 something could not be copied and is named, 1 no backup was made.`

export function backupCommand(): Command {
  return new Command('backup')
    .argument('<folder>', 'backup folder; on another disk, best of all in another building')
    .option('--data <folder>', 'data folder of the station', defaultDataFolder())
    .option('--make', 'make the folder where there is none', false)
    .addHelpText('after', `\n${HELP}`)
    .action(async (into: string, { data, make }: { data: string; make: boolean }) => {
      const folder = resolve(into)
      if (make && !existsSync(folder)) mkdirSync(folder, { recursive: true, mode: 0o700 })
      const clock = new RealClock()
      const store = openStationStore(resolve(data), { clock, mode: 'read' })
      try {
        const { copied, unchanged, left } = await backUpAll({ store, clock, folder }, (session) =>
          console.log(`copying ${session}`),
        )
        console.log(
          `${folder}: ${counted(copied, 'session')} copied and verified, ${unchanged} unchanged, and the station's own records.`,
        )
        for (const { session, words } of left)
          console.error(`stillpoint: ${session} was not copied. ${words}`)
        if (left.length > 0) process.exitCode = 3
      } finally {
        store.close()
      }
    })
}
