import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { Command } from 'commander'
import { PRACTICE_PACE } from '../../../app/contract/views.ts'
import { VirtualClock } from '../../station/clocks/virtual.ts'
import { ensurePage } from '../built.ts'
import { LAB_LABORATORY } from '../lab-desk.ts'
import { openHostedStation } from '../open-station.ts'
import { port, speed } from '../options.ts'
import { servePage } from '../page/server.ts'
import { socketWindows } from '../router/index.ts'
import { Services } from '../services.ts'
import { askedToEnd } from '../until-ended.ts'

const HELP = `A station on a folder that is deleted when it ends, with a clock of its own: the first walk leads through a whole job on its
lab in a box in about five minutes, from the people to a practice certificate. Its pace can be changed in the line at the
bottom of its window at any time. Nothing in it is real, and nothing that it prints is a calibration.`

/** `stillpoint practice`. */
export function practiceCommand(): Command {
  return new Command('practice')
    .option(
      '--pace <x>',
      'times as fast as the wall clock; "max" for as fast as the work goes',
      speed,
      PRACTICE_PACE,
    )
    .option('--port <n>', 'port of the page; 0 for any free one', port, 0)
    .addHelpText('after', `\n${HELP}`)
    .action(practice)
}

async function practice(options: { pace: number; port: number }): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-practice-'))
  const clock = new VirtualClock({ startUtcUs: Date.now() * 1000, speed: options.pace })
  const hosted = await openHostedStation({ folder, clock, clockKind: 'virtual' })
  const services = new Services(hosted)
  try {
    hosted.store.saveSettings(
      services.settings({ laboratory: LAB_LABORATORY, measurerMaySign: true }),
      'practice station',
    )
    await hosted.station.open()
    const page = await servePage({ folder: ensurePage(), port: options.port, ...socketWindows(services) })
    const address = `${page.address}&walk=1`
    // To the station that opened this one; it ends with that.
    process.send?.({ address })
    process.once('disconnect', () => process.kill(process.pid, 'SIGTERM'))
    console.log(`Practise here: ${address}\nEnd it with Ctrl-C.`)
    await askedToEnd()
    await page.close()
  } finally {
    await services.close()
    await hosted.close()
    clock.stop()
    rmSync(folder, { recursive: true, force: true })
  }
}
