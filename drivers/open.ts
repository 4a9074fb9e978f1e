import type { Clock } from '../app/base/clock.ts'
import { first } from '../app/base/lists.ts'
import { type AnyInstrument, InstrumentError } from '../app/instruments/faces.ts'
import { type Said, said } from '../app/messages/said.ts'
import type { BenchInstrument } from '../app/records/bench.ts'
import type { Connect } from './link/wire.ts'
import { type BathLimits, ProfileBath } from './profile/bath.ts'
import { tellProblem } from './profile/check.ts'
import { ProfileEnvironmentSensor } from './profile/environment.ts'
import type { ProfileLibrary } from './profile/library.ts'
import { ProfileLine } from './profile/line.ts'
import { ProfileMeter } from './profile/meter.ts'
import { ProfileScanner } from './profile/scanner.ts'
import type { SharedLines } from './profile/shared-lines.ts'

export interface OpenOptions {
  readonly spec: BenchInstrument
  readonly clock: Clock
  readonly profiles: ProfileLibrary
  /** Spreads the pauses between attempts to connect; 0 to below 1. */
  readonly random?: () => number
  /** Limits of this bath, narrower than the profile's. */
  readonly bathLimits?: BathLimits
  /** Another way to reach the instrument than its link: for tests and scripted peers. */
  readonly connect?: Connect
  /** Whether what answers takes no time for its work, as a scripted peer: no answer comes too soon then. */
  readonly atOnce?: boolean
  /** Where instruments of one case share their line; absent: each has its own. */
  readonly lines?: SharedLines
}

/** Makes the instrument a bench entry describes. Nothing is sent or opened before its `open()`. */
export function openInstrument(options: OpenOptions): AnyInstrument {
  const { spec, clock, profiles, bathLimits, connect, atOnce = false, lines } = options
  const driver = profiles.profiles.get(spec.profile)
  if (driver === undefined) {
    throw new InstrumentError('refused', spec.name, whyNot(spec.profile, profiles))
  }
  const { profile, measure, whole } = driver
  const random = options.random ?? Math.random
  const make = () => new ProfileLine({ spec, clock, profile: whole ?? profile, random, connect, atOnce })
  const line = lines === undefined ? make() : lines.lineOf(spec, whole ?? profile, make)
  const made = { spec, clock, profile, line, isPart: whole !== undefined, atOnce }
  switch (profile.role) {
    case 'ratio-bridge':
    case 'meter':
      return new ProfileMeter(profile.role, made, measure)
    case 'scanner':
      return new ProfileScanner(made)
    case 'bath':
      return new ProfileBath(made, bathLimits)
    case 'environment':
      return new ProfileEnvironmentSensor(made)
  }
}

/** Why there is no such profile: what is wrong in its file, or which others there are. */
function whyNot(profile: string, { profiles, problems }: ProfileLibrary): Said {
  const own = problems.filter((problem) => problem.id === profile)
  if (own.length > 0) {
    const more = own.length > 1 ? ` (and ${own.length - 1} more)` : ''
    return said('profile-wrong', { profile, problem: tellProblem(first(own)), more })
  }
  return said('profiles-are', { profile, known: [...profiles.keys()].sort().join(', ') })
}
