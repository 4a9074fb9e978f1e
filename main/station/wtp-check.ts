import type { Clock } from '../../app/base/clock.ts'
import { entryOf } from '../../app/base/lists.ts'
import type { Watch } from '../../app/live/watch.ts'
import { figure } from '../../app/live/words.ts'
import { type Said, said } from '../../app/messages/said.ts'
import type { Bench, Channel } from '../../app/records/bench.ts'
import type { Plan } from '../../app/records/plan.ts'
import type { Point } from '../../app/records/point.ts'
import type { PointTaker } from './point-taker.ts'
import type { Questions } from './questions.ts'
import type { Recorder } from './recorder.ts'

/** Temperature of the water triple point, degC; ITS-90. */
const WTP_C = 0.01
const LOOK_MS = 5_000
/** Standard uncertainty of one realisation of the triple point in a well-kept cell, mK; common practice, no source. */
const U_CELL_MK = 0.1

export interface WtpParts {
  readonly plan: Plan
  readonly bench: Bench
  readonly watch: Watch
  readonly recorder: Recorder
  readonly clock: Clock
  readonly taker: PointTaker
  readonly questions: Questions
}

export interface WtpOutcome {
  readonly said: Said
  readonly data: Record<string, unknown>
  readonly marks: string[]
  readonly point: Point | undefined
}

/**
 * R(WTP) of the reference before and after a plan: a person puts it into the cell, the station waits until it stands
 * still, measures a self-heating pair, and judges the zero-current resistance against the register's, or against the
 * one before.
 */
export class WtpCheck {
  readonly #p: WtpParts

  constructor(parts: WtpParts) {
    this.#p = parts
  }

  async run(which: 'wtp-before' | 'wtp-after', signal: AbortSignal): Promise<WtpOutcome> {
    const { bench, questions, watch, recorder } = this.#p
    const reference = bench.channels.find((c) => c.enabled && c.role === 'reference')
    if (!reference) return skipped(said('wtp-no-reference', {}), [])
    const when = which === 'wtp-before' ? 'before' : 'after'
    const answer = await questions.ask(
      `Put ${reference.name} into the water triple point cell for its check ${when} the plan, and say so here.`,
      ['It is in the cell', 'Leave the check out'],
      signal,
    )
    if (answer.choice !== 'It is in the cell') {
      const left = said(which === 'wtp-before' ? 'wtp-left-out-before' : 'wtp-left-out-after', {
        who: answer.who,
      })
      return skipped(said('sentence', { words: left }), [left.words])
    }
    watch.aim(WTP_C, recorder.now())
    recorder.tell({
      kind: 'plan-step',
      who: answer.who,
      subject: reference.id,
      said: said('wtp-in-cell', { who: answer.who, thermometer: reference.name }),
      // A replay is aimed at the same temperature from here on.
      data: { aimC: WTP_C },
    })
    const still = await this.#waitUntilStill(reference, signal)
    const point = await this.#p.taker.take(
      { order: 'sequence', cycles: 3, selfHeating: true, channels: [reference.id] },
      {
        id: which,
        step: -1,
        setpointC: WTP_C,
        label: null,
        kind: which,
        settled: still,
        reason: still ? 'The reference stood still.' : 'The wait ended.',
        marks: still ? [] : ['not settled'],
      },
      signal,
    )
    const outcome = this.#judge(which, reference, point)
    await questions.ask(
      `Put ${reference.name} back into the bath, and say so here.`,
      ['It is in the bath'],
      signal,
    )
    return outcome
  }

  async #waitUntilStill(reference: Channel, signal: AbortSignal): Promise<boolean> {
    const { clock, watch, recorder, plan } = this.#p
    const until = clock.now().monoUs + plan.maxWaitS * 1e6
    while (clock.now().monoUs < until) {
      if (watch.settling(reference.id, recorder.now()).state === 'flat') return true
      await clock.sleep(LOOK_MS, signal)
    }
    return false
  }

  /** How far R(WTP) of a thermometer may move by the register, mK; 0: the register sets no limit. */
  #registerLimitMk({ thermometer }: Channel): number {
    const { register } = this.#p.recorder.file.setup
    return register.thermometers.find((t) => t.id === thermometer)?.wtpLimitMk ?? 0
  }

  #judge(which: 'wtp-before' | 'wtp-after', reference: Channel, point: Point | undefined): WtpOutcome {
    const { watch, recorder } = this.#p
    const chain = entryOf(watch.chains, reference.id)
    const taken = point?.channels.find((c) => c.channel === reference.id)
    const ohm = taken?.signalZeroCurrent ?? taken?.signal
    if (!point || !taken || ohm === null || ohm === undefined) {
      const lost = said('wtp-not-measured', { thermometer: reference.name })
      return { ...skipped(said('sentence', { words: lost }), [lost.words]), point }
    }
    const before =
      which === 'wtp-after' ? recorder.file.points().find((p) => p.kind === 'wtp-before') : undefined
    const earlier = before?.channels.find((c) => c.channel === reference.id)
    const against = earlier?.signalZeroCurrent ?? (chain.wtp ? Number(chain.wtp.ohm) : null)
    const uNowMk = Math.hypot(taken.uTypeAMk ?? 0, taken.uSelfHeatingMk ?? 0, U_CELL_MK)
    const whose = said(earlier ? 'the-one-before' : 'the-register', {})
    const facts = { thermometer: reference.name, ohm: ohm.toFixed(6) }
    const data = { channel: reference.id, ohm, against, uNowMk, which }
    if (against === null) {
      return {
        said: said('wtp-alone', facts),
        data,
        marks: [],
        point,
      }
    }
    const slope = chain.slopeAt(WTP_C)
    const movedMk = ((ohm - against) / slope) * 1e3
    const uThenMk = earlier ? uNowMk : ((chain.wtp?.uOhm ?? 0) / slope) * 1e3
    const limitMk = Math.max(2 * Math.hypot(uNowMk, uThenMk), this.#registerLimitMk(reference))
    const same = Math.abs(movedMk) <= limitMk
    const judged = said(same ? 'wtp-same' : 'wtp-moved', {
      ...facts,
      distance: said(movedMk < 0 ? 'mk-below' : 'mk-above', { mk: figure(Math.abs(movedMk)) }),
      against: whose,
      limit: figure(limitMk),
    })
    return {
      said: said('sentence', { words: judged }),
      data: { ...data, movedMk, limitMk, same },
      marks: same ? [] : [judged.words],
      point,
    }
  }
}

function skipped(why: Said, marks: string[]): WtpOutcome {
  return { said: why, data: {}, marks, point: undefined }
}
