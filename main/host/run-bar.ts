import { Presets, SingleBar } from 'cli-progress'
import type { Disposable } from '../../app/base/clock.ts'
import type { StationState } from '../../app/contract/views.ts'
import type { Station } from '../station/station.ts'

type Moment = {
  utcUs: number
  runner: Pick<StationState['runner'], 'startedUtcUs' | 'expectedEndUtcUs'>
}

/** A plan that still runs is never shown as done. */
const NEARLY = 0.999

/**
 * The part of a plan that is behind, from 0 to 1, by its expected end. That end is expected anew at every step and moves
 * away where the bath takes longer than was thought; what was told once stays told, so the part never falls.
 */
export class PartDone {
  #furthest = 0

  at({ utcUs, runner: { startedUtcUs, expectedEndUtcUs } }: Moment): number {
    if (startedUtcUs !== null && expectedEndUtcUs !== null && expectedEndUtcUs > startedUtcUs) {
      const done = (utcUs - startedUtcUs) / (expectedEndUtcUs - startedUtcUs)
      this.#furthest = Math.max(this.#furthest, Math.min(NEARLY, done))
    }
    return this.#furthest
  }
}

/** One bar over the plan's steps on a terminal, with what is being done beside it. */
export function runBar(station: Station, stream: NodeJS.WritableStream = process.stderr): Disposable {
  const bar = new SingleBar(
    {
      format: '{bar} {percentage}%  {words}',
      hideCursor: true,
      barsize: 24,
      linewrap: false,
      clearOnComplete: false,
      stream,
    },
    Presets.shades_classic,
  )
  const part = new PartDone()
  bar.start(1000, 0, { words: 'Opening the links.' })
  const listening = station.onDidChange.on(() => {
    const state = station.state()
    bar.update(Math.round(1000 * part.at(state)), { words: state.runner.words.slice(0, 90) })
  })
  return {
    dispose: () => {
      listening.dispose()
      bar.update(1000, { words: 'The plan has ended.' })
      bar.stop()
    },
  }
}
