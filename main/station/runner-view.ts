import type { Instant } from '../../app/base/clock.ts'
import { last } from '../../app/base/lists.ts'
import { duration } from '../../app/base/times.ts'
import type { RunnerView, StripMark } from '../../app/contract/views.ts'
import type { Watch } from '../../app/live/watch.ts'
import { celsiusWords } from '../../app/live/words.ts'
import { estimatePlan, observedPace, type StepTimes } from '../../app/plan/estimate.ts'
import type { Bench } from '../../app/records/bench.ts'
import type { Plan } from '../../app/records/plan.ts'
import type { CellRunner } from './cell-runner.ts'
import type { Runner } from './runner.ts'

export interface NightSoFar {
  readonly plan: Plan
  readonly bench: Bench
  readonly runner: Runner
  readonly watch: Watch
  readonly strip: readonly StripMark[]
  readonly bathC: number | null
  readonly now: Instant
}

/** What is still to come, s from now, and when it should be over; null once it is. */
export function expectedNight(night: NightSoFar): { steps: readonly StepTimes[]; endS: number } | null {
  const { plan, bench, runner, watch, strip, bathC, now } = night
  const { state } = runner
  if (state.phase === 'ended') return null
  const at = bathC ?? plan.setpoints[state.step]?.celsius ?? 23
  const steps = estimatePlan(plan, bench, at, observedPace(strip, plan, bench), state.step)
  const first = steps[0]
  if (!first) return null
  let goneS = 0
  if (state.phase === 'waiting') {
    const leftS = watch.group(now).remainingS ?? Math.max(0, first.settleS - (runner.waiting?.s ?? 0))
    goneS = first.settleS - leftS
  } else if (state.phase === 'measuring') goneS = first.settleS + first.travelS
  const shifted = steps.map((s) => ({ ...s, startS: s.startS - goneS, endS: s.endS - goneS }))
  return { steps: shifted, endS: last(shifted).endS }
}

/** What a person reads of the plan: 'Setpoint 3 of 5, 100 °C: waiting until settled'. */
export function runnerWords(plan: Plan, { state, setpointC, waiting }: Runner): string {
  const at =
    setpointC === null
      ? `Water triple point ${state.part === 'wtp-before' ? 'before' : 'after'} the plan`
      : `Setpoint ${state.step + 1} of ${plan.setpoints.length}, ${celsiusWords(setpointC)}`
  switch (state.phase) {
    case 'idle':
    case 'opening':
      return 'Opening the links and identifying the instruments.'
    case 'checking':
      return `${at}: checking.`
    case 'setting':
      return `${at}: setting the bath.`
    case 'waiting':
      return `${at}: waiting until settled, at most ${duration((waiting?.mostS ?? 0) - (waiting?.s ?? 0))} more.`
    case 'measuring':
      return `${at}: taking the point.`
    case 'paused':
      return `${at}: paused.`
    case 'finishing':
      return 'Every setpoint has had its turn: finishing.'
    case 'stopping':
      return `Stopping: ${state.stopping?.reason ?? ''}`
    case 'ended':
      return `Ended: ${state.endingReason ?? ''}`
  }
}

/** What the view of a look at the bench says. */
export const LOOKING = 'Looking at the bench: what is shown is kept for a day.'

type CellView = Omit<RunnerView, 'startedUtcUs' | 'bathC' | 'question'>

/** What a person reads of a sequence of cells: which step is next, and how its plateau stands. */
export function cellView(session: string, { state, words, steps, progress }: CellRunner): CellView {
  const { phase, step, ending } = state
  return {
    ...RECORDING,
    phase: phase === 'ended' ? 'ended' : phase === 'opening' ? 'opening' : 'measuring',
    words,
    ending,
    cells: {
      session,
      step,
      progress,
      steps: steps.map((one) => ({ ...one })),
    },
  }
}

/** What the view of a session without a plan says. */
export const RECORDING = {
  phase: 'measuring',
  words: 'Recording without a plan.',
  step: null,
  steps: 0,
  setpointC: null,
  expectedEndUtcUs: null,
  ending: null,
} as const satisfies Partial<RunnerView>
