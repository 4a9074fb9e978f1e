import { resolve } from 'node:path'
import { Command } from 'commander'
import { counted } from '../../../app/base/plural.ts'
import { RealClock } from '../../station/clocks/real.ts'
import { restoreStation } from '../../store/backup/restore.ts'
import { sketchOf } from '../../study/session-sketch.ts'

const HELP = `The new folder must not exist or must be empty; a backup is never put over records. Every file is held against the hash
that was noted when it was copied. Start the station on it with --data, or give the folder the name of the usual one.`

export function restoreCommand(): Command {
  return new Command('restore')
    .argument('<backup>', 'backup folder')
    .requiredOption('--data <new>', 'new data folder')
    .option('--leave-out-damaged', 'restore the rest where files of the backup are damaged', false)
    .addHelpText('after', `\n${HELP}`)
    .action((from: string, options: { data: string; leaveOutDamaged: boolean }) => {
      const to = resolve(options.data)
      const { sessions, station, words } = restoreStation(resolve(from), to, {
        clock: new RealClock(),
        sketch: sketchOf,
        leaveOutDamaged: options.leaveOutDamaged,
      })
      for (const line of words) console.log(line)
      console.log(
        `${to}: ${counted(sessions, 'session')} restored and verified${station ? ", with the station's own records" : '; register, benches and plans were taken from them'}.`,
      )
    })
}
