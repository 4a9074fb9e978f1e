import { resolve } from 'node:path'
import { Command } from 'commander'
import { RealClock } from '../../station/clocks/real.ts'
import { openSessionFile } from '../../store/session-file.ts'
import type { StationStore } from '../../store/station-store.ts'
import { openExistingStore, personAct } from '../../study/person-act.ts'
import { readBudgetTemplates } from '../../study/report/budget-folder.ts'
import { signedSettings } from '../../study/report/signed-settings.ts'
import { Reports } from '../../study/reports.ts'
import { deliver } from '../deliver.ts'

const HELP = `Each customer gets a folder: PDF, digital certificate and table (CSV) of each item, SHA256SUMS, and a covering list that names what
a new version replaces. With --mail the same goes by mail, through the mail server of the alarms (its password in
STILLPOINT_SMTP_PASSWORD). Time stamps that were not to be had at the sign-off are asked for again. The ledger keeps what went to
whom. Your password is asked for, or taken from STILLPOINT_PASSWORD. The station must not be running.`

interface Options {
  data: string
  out: string
  who?: string
  customer?: string
  mail: boolean
}

/** Prints the certificates of sessions that have ended, with the choices they were signed with. */
export function reportsFor(store: StationStore): Reports {
  return new Reports({
    folder: store.folder,
    path: (session) => store.sessionPath(session),
    register: () => store.register(),
    of: (session) => {
      const settings = store.settings()
      const file = openSessionFile(store.sessionPath(session), { mode: 'read' })
      try {
        return {
          version: '',
          options: {
            templates: readBudgetTemplates(store.folder),
            ...(settings && {
              coverageProbability: settings.coverageProbability,
              interpolationStepK: settings.interpolationStepK,
            }),
            ...signedSettings(file),
          },
          decimalSign: settings?.decimalSign ?? '.',
        }
      } finally {
        file.close()
      }
    },
  })
}

/** `stillpoint deliver SESSION --out DIR`: what each customer of a session gets. */
export function deliverCommand(): Command {
  return new Command('deliver')
    .argument('<session>', 'id of the session')
    .requiredOption('--data <folder>', 'data folder of the station')
    .requiredOption('--out <folder>', 'where the customers’ folders go')
    .option('--who <name>', 'your name, as the station knows it')
    .option('--customer <name>', 'only what is for this customer')
    .option('--mail', 'send it by mail as well, with the files attached', false)
    .description('write the certificates of a session, a folder for each customer')
    .addHelpText('after', `\n${HELP}`)
    .action(async (id: string, { data, out, who, customer, mail }: Options) => {
      const store = openExistingStore(data, 'write')
      const reports = reportsFor(store)
      try {
        const why = 'certificates delivered'
        const act = await personAct(store, 'operate', { who, why, canAsk: process.stdin.isTTY === true })
        const lines = await deliver(
          { store, ask: reports.ask(), paper: store.settings()?.paper ?? 'A4' },
          { session: id, out: resolve(out), customer, mail, act, nowUtcUs: new RealClock().now().utcUs },
        )
        console.log(lines.join('\n'))
      } finally {
        await reports.close()
        store.close()
      }
    })
}
