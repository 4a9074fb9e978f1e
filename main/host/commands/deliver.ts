import { resolve } from 'node:path'
import { Command } from 'commander'
import { RealClock } from '../../station/clocks/real.ts'
import { openSessionFile } from '../../store/session-file.ts'
import { openExistingStore } from '../../study/person-act.ts'
import { deliver } from '../deliver.ts'

const HELP = `Each customer gets a folder: PDF, digital certificate and table (CSV) of each item, SHA256SUMS, and a covering list that names what
a new version replaces. Time stamps that were not to be had at the sign-off are asked for again. The ledger keeps what went to whom.
The station must not be running.`

/** `stillpoint deliver SESSION --out DIR`: what each customer of a session gets. */
export function deliverCommand(): Command {
  return new Command('deliver')
    .argument('<session>', 'id of the session')
    .requiredOption('--data <folder>', 'data folder of the station')
    .requiredOption('--out <folder>', 'where the customers’ folders go')
    .requiredOption('--who <name>', 'who delivers, for the ledger')
    .description('write the certificates of a session, a folder for each customer')
    .addHelpText('after', `\n${HELP}`)
    .action(async (id: string, { data, out, who }: { data: string; out: string; who: string }) => {
      const store = openExistingStore(data, 'write')
      try {
        const session = openSessionFile(store.sessionPath(id), { mode: 'read' })
        try {
          const lines = await deliver(store, session, resolve(out), who, new RealClock().now().utcUs)
          console.log(lines.join('\n'))
        } finally {
          session.close()
        }
      } finally {
        store.close()
      }
    })
}
