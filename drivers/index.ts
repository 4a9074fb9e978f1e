import { type ProfileLibrary, readLibrary } from './profile/library.ts'
import { burstMeter } from './written/burst-meter.ts'

export { lookAround, type Sighting } from './find/around.ts'
export { askWho } from './find/ask.ts'
export { listSerialPorts } from './link/serial-ports.ts'
export { findVisa } from './link/visa.ts'
export { openInstrument } from './open.ts'
export { checkProfile, tellProblem } from './profile/check.ts'
export { draftLines, type LinesDraft, type Question } from './profile/draft.ts'
export { draftRegisters, type RegistersDraft, type RegisterText } from './profile/draft-registers.ts'
export { type NumberAt, numbersIn } from './profile/example.ts'
export type { Driver, ProfileLibrary } from './profile/library.ts'

/** Reads the program's profiles and drivers, and the profiles of the user's folder. */
export function loadProfiles(options: { userFolder?: string } = {}): Promise<ProfileLibrary> {
  return readLibrary([burstMeter], options.userFolder)
}
export { rangeWords } from './profile/range-words.ts'
export type { ProfileText } from './profile/schema.ts'
export { SharedLines } from './profile/shared-lines.ts'
export { replayTranscript } from './transcript.ts'
export { type Attempt, tryProfile } from './try.ts'
