import { existsSync } from 'node:fs'
import { userInfo } from 'node:os'
import { resolve } from 'node:path'
import { setTimeout as pause } from 'node:timers/promises'
import { Command, InvalidArgumentError } from 'commander'
import { requestStop } from '../../station/stop-request.ts'
import { isHeld } from '../../store/lock.ts'
import { defaultDataFolder } from '../data-folder.ts'

const LOOK_MS = 250

const HELP = `An open session stays open and is taken up at the next start. With --safely it is stopped first: the bath goes to its
safe setpoint and the record is closed, which may take a while.

Exit status: 0 ended, 1 no station runs there, 4 it still runs after --wait seconds.`

function seconds(text: string): number {
  const value = Number(text)
  if (!Number.isFinite(value) || value < 1) throw new InvalidArgumentError('A number of seconds, 1 or more.')
  return value
}

export function stopCommand(): Command {
  return new Command('stop')
    .option('--data <folder>', 'data folder of the station', defaultDataFolder())
    .option('--safely', 'stop the open session safely first', false)
    .option('--wait <s>', 'how long to wait for the end', seconds, 3600)
    .addHelpText('after', `\n${HELP}`)
    .action(async ({ data, safely, wait }: { data: string; safely: boolean; wait: number }) => {
      const folder = resolve(data)
      if (!existsSync(folder) || !isHeld(folder)) {
        console.error(`stillpoint: no station runs on ${folder}. Name its folder with --data.`)
        process.exitCode = 1
        return
      }
      requestStop(folder, { safely, who: userInfo().username })
      const until = performance.now() + wait * 1000
      while (isHeld(folder)) {
        if (performance.now() > until) {
          console.error(`stillpoint: the station on ${folder} still runs after ${wait} s; it goes on ending.`)
          process.exitCode = 4
          return
        }
        await pause(LOOK_MS)
      }
      console.log('The station has ended.')
    })
}
