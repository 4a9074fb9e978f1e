import type { Clock } from '../../app/base/clock.ts'
import type { Read } from './reply.ts'
import type { Condition, Step } from './schema-steps.ts'
import type { Done } from './speaker.ts'

export interface StepOptions {
  readonly clock: Clock
  readonly perform: (command: string) => Promise<Done>
}

/**
 * Does steps in order. The result is the last command that brought a value, or the first one where none did; undefined where
 * no command was done. The first fault ends it. What a condition asks is no result.
 */
export async function doSteps(steps: readonly Step[], options: StepOptions): Promise<Done | undefined> {
  let result: Done | undefined
  for (const step of steps) {
    const done = await doStep(step, options)
    if (done === undefined) continue
    if (!done.ok) return done
    if (result === undefined || done.read.kind === 'value') result = done
  }
  return result
}

async function doStep(step: Step, options: StepOptions): Promise<Done | undefined> {
  if (typeof step === 'string') return options.perform(step)
  if ('when' in step) {
    const asked = await options.perform(step.when.ask)
    if (!asked.ok) return asked
    return doSteps(holds(asked.read, step.when) ? step.do : (step.else ?? []), options)
  }
  const { repeat, until, most, everyMs = 0 } = step
  let result: Done | undefined
  for (let round = 1; round <= most; round++) {
    if (round > 1 && everyMs > 0) await options.clock.sleep(everyMs)
    const done = await doSteps(repeat, options)
    if (done?.ok === false) return done
    if (result === undefined || done?.read?.kind === 'value') result = done
    if (until === undefined) continue
    const asked = await options.perform(until.ask)
    if (!asked.ok || holds(asked.read, until)) return asked.ok ? result : asked
    if (round === most) {
      const words = `"${until.ask}" did not answer as it should within ${most} rounds`
      return { ok: false, why: 'silent', raw: asked.raw, at: asked.at, words }
    }
  }
  return result
}

/** Whether an answer is as the condition wants it. */
function holds(read: Read, { set = 0, clear = 0, equals, least, most }: Condition): boolean {
  if (read.kind === 'bits') return (read.bits & set) === set && (read.bits & clear) === 0
  if (read.kind === 'value') {
    if (read.value === undefined) return false
    const value = Number(read.value)
    if (value < (least ?? Number.NEGATIVE_INFINITY) || value > (most ?? Number.POSITIVE_INFINITY))
      return false
    return equals === undefined || isOneOf(read.value, equals)
  }
  return read.kind === 'text' && (equals === undefined || isOneOf(read.text, equals))
}

const isOneOf = (text: string, wanted: string | readonly string[]): boolean =>
  typeof wanted === 'string' ? text === wanted : wanted.includes(text)
