import { Command } from 'commander'
import { isoUtc } from '../../../app/base/clock.ts'
import { counted } from '../../../app/base/plural.ts'
import type { ArchiveRow } from '../../../app/contract/studies.ts'
import { RealClock } from '../../station/clocks/real.ts'
import { openStationStore } from '../../store/station-store.ts'
import { sketchOf } from '../../study/session-sketch.ts'
import { defaultDataFolder } from '../data-folder.ts'
import { wholeNumber } from '../options.ts'

/** `stillpoint sessions`: the list of a station's sessions, or a new one made from their files. */
export function sessionsCommand(): Command {
  return new Command('sessions')
    .option('--data <folder>', 'data folder of the station', defaultDataFolder())
    .option('--search <words>', 'only sessions in which every one of these words occurs', '')
    .option('--most <count>', 'at most so many, the newest first', wholeNumber(1, 1_000_000_000), 200)
    .option(
      '--rebuild',
      'make the list anew from the session files, and station.db where it is lost; the station must not be running',
    )
    .option('--json', 'print one JSON object per line')
    .description('list the sessions of a station')
    .action((o: { data: string; search: string; most: number; rebuild?: boolean; json?: boolean }) => {
      const store = openStationStore(o.data, {
        clock: new RealClock(),
        mode: o.rebuild ? 'write' : 'read',
        sketch: sketchOf,
        makeAnew: o.rebuild === true,
      })
      try {
        if (o.rebuild) for (const words of store.rebuild('command line')) console.error(words)
        const { total, rows } = store.sessionPage(o.search, o.most)
        for (const row of rows) console.log(o.json ? JSON.stringify(row) : line(row))
        if (rows.length === 0 && !o.json)
          console.log(o.search ? 'No session has all of these words.' : 'No sessions yet.')
        // Beside the list, so that what reads its lines gets lines of sessions alone.
        if (total > rows.length)
          console.error(
            `${rows.length} of ${counted(total, 'session')} shown, the newest. The others: --most ${total}, or --search WORDS.`,
          )
      } finally {
        store.close()
      }
    })
}

function line({ info, readings, points, signedOffBy, damaged }: ArchiveRow): string {
  const facts = [`${readings} readings`, `${points} points`, info.ending ?? 'not ended']
  if (signedOffBy !== null) facts.push(`signed off by ${signedOffBy}`)
  if (damaged !== null) facts.push(`damaged: ${damaged}`)
  return `${info.id}  ${isoUtc(info.startedUtcUs).slice(0, 19)}Z  ${info.name}  (${facts.join(', ')})`
}
