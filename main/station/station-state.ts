import type { RunnerView, StationState } from '../../app/contract/views.ts'
import type { Instant } from '../../app/records/clock.ts'
import type { SessionRun } from './session-run.ts'
import { expectedMarks } from './strip.ts'

/** A session that has ended, as it stood then: shown until another begins. */
export interface EndedSession {
  readonly view: RunnerView
  readonly run: SessionRun
  readonly at: Instant
}

const IDLE: RunnerView = {
  phase: 'idle',
  words: 'No session.',
  step: null,
  steps: 0,
  setpointC: null,
  bathC: null,
  startedUtcUs: null,
  expectedEndUtcUs: null,
  question: null,
  ending: null,
}

type FromSession = Pick<StationState, 'session' | 'runner' | 'group' | 'channels' | 'strip'>

/** What a state tells of the session that runs, or of the one that ended last. */
export function sessionState(
  run: SessionRun | undefined,
  ended: EndedSession | undefined,
  utcUs: number,
): FromSession {
  const shown = run ?? ended?.run
  const now = run?.recorder.now() ?? ended?.at
  const expected = run?.expected()
  return {
    session: run
      ? {
          id: run.info.id,
          name: run.info.name,
          startedUtcUs: run.info.startedUtcUs,
          readings: run.recorder.stored,
        }
      : null,
    runner: run?.view() ?? ended?.view ?? IDLE,
    group:
      shown && now
        ? shown.watch.group(now)
        : { state: 'broken', words: 'Nothing is measured.', remainingS: null, held: 0 },
    channels: shown && now ? shown.watch.channelViews(now) : [],
    strip: [...(shown?.strip.marks ?? []), ...(expected ? expectedMarks(expected.steps, utcUs) : [])],
  }
}
