import { celsiusWords } from '../../app/live/words.ts'
import { type Said, said } from '../../app/messages/said.ts'
import type { BathSpec } from '../../app/records/bench.ts'
import type { Fluid } from '../../app/records/register.ts'

export interface BathLimits {
  readonly lowC: number
  readonly highC: number
  /** What sets the upper end, for a person: 'the flash point of Silicone oil less 40 K'. */
  readonly because: string
}

/** The narrowest of what bath and fluid allow; never above the fluid's flash point less its margin. */
export function bathLimits(spec: BathSpec, fluid: Fluid | undefined): BathLimits {
  const highs: { at: number; because: string }[] = [{ at: spec.highC, because: `the bath ${spec.name}` }]
  if (fluid) {
    highs.push({ at: fluid.highC, because: `the fluid ${fluid.name}` })
    if (fluid.flashPointC !== undefined) {
      highs.push({
        at: fluid.flashPointC - fluid.marginK,
        because: `the flash point of ${fluid.name} less ${fluid.marginK} K`,
      })
    }
  }
  const lowest = highs.reduce((a, b) => (b.at < a.at ? b : a))
  return {
    lowC: Math.max(spec.lowC, fluid?.lowC ?? Number.NEGATIVE_INFINITY),
    highC: lowest.at,
    because: lowest.because,
  }
}

/** Why a setpoint is refused; undefined where it is allowed. */
export function refusal(limits: BathLimits, celsius: number): Said | undefined {
  if (!Number.isFinite(celsius)) return said('setpoint-no-number', {})
  if (celsius > limits.highC) {
    return said('setpoint-above', {
      setpoint: celsiusWords(celsius),
      limit: celsiusWords(limits.highC),
      because: limits.because,
    })
  }
  if (celsius < limits.lowC) {
    return said('setpoint-below', { setpoint: celsiusWords(celsius), limit: celsiusWords(limits.lowC) })
  }
  return undefined
}
