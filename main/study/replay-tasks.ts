import type { StationState } from '../../app/contract/views.ts'
import { openSessionFile, type SessionFile } from '../store/session-file.ts'
import type { Cancel } from '../store/thread-talk.ts'
import { Replayer, type ReplayOptions } from './replayer.ts'

/** The replay of this thread: it has one, and lives as long as that. */
let running: { file: SessionFile; replayer: Replayer } | undefined

/** Taken in at a time, us of the session: so often it is looked whether the replay is still wanted. */
const SLICE_US = 10e6
/** A fast replay shows where it has got to after so long, and falls behind its speed, ms. */
const FRAME_MS = 100

export interface ReplayFrame {
  state: StationState
  nowUs: number
  done: boolean
}

/** What the thread of a replay does. */
export const replayTasks = {
  begin: (_: Cancel, path: string, options: Pick<ReplayOptions, 'register' | 'fromUtcUs'>): number => {
    endReplay()
    const file = openSessionFile(path, { mode: 'read' })
    running = { file, replayer: new Replayer(file, options) }
    return running.replayer.nowUs
  },
  /** Goes on up to a moment of the session's count, or as far as a frame's time lets it. */
  advance: (cancel: Cancel, untilUs: number): ReplayFrame => {
    const { replayer } = running!
    const from = performance.now()
    do {
      cancel.throwIfAborted()
      replayer.advance(Math.min(untilUs, replayer.nowUs + SLICE_US))
    } while (replayer.nowUs < untilUs && !replayer.done && performance.now() - from < FRAME_MS)
    return { state: replayer.state(), nowUs: replayer.nowUs, done: replayer.done }
  },
}

export type ReplayTasks = typeof replayTasks

export function endReplay(): void {
  running?.file.close()
  running = undefined
}
