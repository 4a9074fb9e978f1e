import { inconsistencies } from './consistency.ts'
import type { Driver } from './library.ts'
import type { MeasureSequence } from './meter.ts'
import { Profile, type ProfileText } from './schema.ts'

/**
 * A kind of instrument written in TypeScript: the same table as a profile file, and a sequence where measuring takes
 * more than a list of commands. Throws at once when the table does not hold together.
 */
export function defineDriver(source: string, written: ProfileText & { measure?: MeasureSequence }): Driver {
  const { measure, ...text } = written
  const profile = Profile.parse(text)
  const wrong = inconsistencies(profile)
  if (wrong.length > 0) throw new Error(`${profile.id}: ${wrong.map((each) => each.message).join('; ')}`)
  const table = `${JSON.stringify(profile, null, 2)}\n`
  return { profile, source, text: table, ...(measure === undefined ? {} : { measure }) }
}
