import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { openSessionFile } from '../../main/store/session-file.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { startLab } from '../../simulator/lab.ts'
import { randomStream } from '../../simulator/physics/randomness.ts'
import { planOf } from '../station/box.ts'
import { CoreRunner } from '../station/core-runner.ts'
import { EpochClock } from '../station/epoch-clock.ts'

const SPEED = 60

/**
 * Kills a core again and again at random instants of one session, from its first lines on, and compares what it showed
 * with what is in the file in the end.
 */
export async function killStorm(kills: number, seed: number): Promise<{ good: boolean; words: string }> {
  const stream = randomStream(seed, 'kills')
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-kills-'))
  const epoch = Date.now()
  const clock = new EpochClock(epoch, SPEED)
  const lab = await startLab({ seed, clock, scenario: 'quiet' })
  try {
    const file = join(folder, 'bench.json')
    // A long night of short steps, so that kills fall into every phase.
    const plan = planOf(
      Array.from({ length: 40 }, (_, i) => 26 + (i % 5)),
      {
        settling: {
          windowS: 90,
          driftMkPerMin: 30,
          spreadMk: 40,
          bandK: 0.5,
          holdS: 20,
          confidence: 0.95,
          channels: [],
          adaptive: 1,
        },
        cycles: 2,
      },
    )
    writeFileSync(file, JSON.stringify({ bench: lab.bench, register: lab.paperwork, plan }))
    const core = new CoreRunner(join(folder, 'data'), file, SPEED, epoch)
    const shown = new Map<number, string>()
    let session = ''
    let lives = 0
    let finished = false
    for (let i = 0; i < kills && !finished; i++) {
      const after = stream.uniform() * 4_000
      const timer = setTimeout(() => core.kill(), 400 + after)
      for (const told of await core.live(() => false)) {
        if (told.session !== undefined) session = told.session
        if (told.seq !== undefined) shown.set(told.seq, told.raw ?? '')
        if (told.finished) finished = true
      }
      clearTimeout(timer)
      lives += 1
    }
    const store = openStationStore(join(folder, 'data'), { clock, mode: 'read' })
    const stored = openSessionFile(store.sessionPath(session), { mode: 'read' })
    const raws = new Map(stored.since(0, 10_000_000).map((r) => [r.seq, r]))
    let lost = 0
    for (const [seq, raw] of shown) if (raws.get(seq)?.raw !== raw) lost += 1
    const last = new Map<string, number>()
    let disorder = 0
    for (const { channel, monoUs } of raws.values()) {
      if (monoUs < (last.get(channel) ?? 0)) disorder += 1
      last.set(channel, monoUs)
    }
    const resumed = stored.events({ kinds: ['resumed'] }).length
    const points = stored.points().length
    stored.close()
    store.close()
    const words = `${lives} kills: ${shown.size} readings shown, ${lost} lost, ${disorder} out of order; taken up again ${resumed} times, ${points} points`
    return { good: lost === 0 && disorder === 0 && shown.size > 0, words }
  } finally {
    await lab.close()
    rmSync(folder, { recursive: true })
  }
}
