import type { ProfileLibrary } from '../../drivers/index.ts'
import { compilePattern } from '../../drivers/language/pattern.ts'

/** The profile whose pattern knows this identity. */
export function profileFor(identity: string, { profiles }: ProfileLibrary): string | null {
  for (const { profile, whole } of profiles.values()) {
    const asks = whole === undefined && profile.identity.ask !== undefined
    if (asks && compilePattern(profile.identity.pattern).test(identity)) return profile.id
  }
  return null
}
