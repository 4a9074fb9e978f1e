import type { Instant } from '../../app/base/clock.ts'
import type { ChannelView, RunnerView, SettlingView, StationState } from '../../app/contract/views.ts'
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

/** What is shown of a session from its end on, with a plan or without one. */
export function endedView(
  last: RunnerView,
  { ending, reason }: { ending: RunnerView['ending']; reason: string },
): RunnerView {
  return { ...last, phase: 'ended', words: `Ended: ${reason}`, ending, question: null }
}

/** How a channel stands when its session is over: it is done, not silent, and what settled then says nothing of now. */
const OVER: SettlingView = {
  state: 'over',
  words: 'Done: measured until the session ended.',
  remainingS: null,
  held: 0,
}

type FromSession = Pick<StationState, 'session' | 'runner' | 'group' | 'channels' | 'strip'>

/** What a state tells of the session that runs, or of the one that ended last. */
export function sessionState(
  run: SessionRun | undefined,
  ended: EndedSession | undefined,
  utcUs: number,
): FromSession {
  const shown = run ?? ended?.run
  const now = run?.recorder.now()
  const expected = run?.expected()
  return {
    session: run
      ? {
          id: run.info.id,
          name: run.info.name,
          startedUtcUs: run.info.startedUtcUs,
          readings: run.recorder.stored,
          look: run.info.kind === 'look',
        }
      : null,
    runner: run?.view() ?? ended?.view ?? IDLE,
    group: run && now ? run.watch.group(now) : { ...OVER, words: 'Nothing is measured.' },
    channels: channelViews(run, ended),
    strip: [...(shown?.strip.marks ?? []), ...(expected ? expectedMarks(expected.steps, utcUs) : [])],
  }
}

function channelViews(run: SessionRun | undefined, ended: EndedSession | undefined): ChannelView[] {
  if (run) return run.watch.channelViews(run.recorder.now())
  return ended ? ended.run.watch.channelViews(ended.at).map((view) => ({ ...view, settling: OVER })) : []
}
