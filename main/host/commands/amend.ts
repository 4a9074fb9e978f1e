import { Command } from 'commander'
import { eventOf } from '../../../app/messages/said.ts'
import { RealClock } from '../../station/clocks/real.ts'
import { openForWriting } from '../../store/open-for-writing.ts'
import { takeRecordsOfNow } from '../../study/amend-session.ts'
import { openExistingStore, personAct } from '../../study/person-act.ts'

const HELP = `Where a coefficient of a calibration turned out wrong: correct it in the Register, look at what changes with
"stillpoint replay SESSION --data FOLDER --coefficients now", then take it into the session with this command. Readings
and the records of the day stay as they are; the amendment is written after them, and a signed report gets a new version
that names the one it replaces. Your password is asked for, or taken from STILLPOINT_PASSWORD. The station must
not be running; while it runs, the Archive does the same.`

/** `stillpoint amend SESSION`: takes the register's records of now into an ended session. */
export function amendCommand(): Command {
  return new Command('amend')
    .argument('<session>', 'id of the session')
    .requiredOption('--data <folder>', 'data folder of the station')
    .option('--who <name>', 'your name, as the station knows it')
    .option('--why <text>', 'reason, kept in the session and in the ledger')
    .description('take corrected calibrations into an ended session')
    .addHelpText('after', `\n${HELP}`)
    .action(async (id: string, { data, who, why }: { data: string; who?: string; why?: string }) => {
      const store = openExistingStore(data, 'write')
      try {
        const act = await personAct(store, 'keep-records', { who, why, canAsk: process.stdin.isTTY === true })
        const clock = new RealClock()
        const file = openForWriting(store.sessionPath(id), clock)
        try {
          const { utcUs } = clock.now()
          const monoUs = Math.max(file.events().at(-1)?.monoUs ?? 0, utcUs - file.info.startedUtcUs)
          console.log(
            takeRecordsOfNow(store, file, act, (event) =>
              file.commit({ events: [{ ...eventOf(event), utcUs, monoUs }] }),
            ),
          )
          store.registerSession(file)
        } finally {
          file.close()
        }
      } finally {
        store.close()
      }
    })
}
