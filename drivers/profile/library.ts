import { readdir, readFile, stat } from 'node:fs/promises'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { checkProfile, idOfFile, type ProfileProblem } from './check.ts'
import type { MeasureSequence } from './meter.ts'
import type { Profile } from './schema.ts'

/** A profile and, where it is not enough, the sequence that takes the place of its measuring. */
export interface Driver {
  readonly profile: Profile
  /** Of a part: the whole profile of the case it is in. */
  readonly whole?: Profile
  readonly measure?: MeasureSequence
  /** Where it came from: a file name. */
  readonly source: string
  /** Its table as JSON, for the record: the file's own text, or the table of a driver written in code. */
  readonly text: string
}

/** All makes of instrument that can be talked to. */
export interface ProfileLibrary {
  readonly profiles: ReadonlyMap<string, Driver>
  /** Files that could not be used, with the lines that are wrong. They do not keep the others from being used. */
  readonly problems: readonly ProfileProblem[]
}

const OWN_FOLDER = fileURLToPath(new URL('../profiles/', import.meta.url))

/** More than any profile needs, bytes: the largest that ship have a hundredth of it. */
const MOST_BYTES = 1_000_000
/** More files than anybody keeps beside one another. */
const MOST_FILES = 1_000

/** Reads the program's profiles and those of the user's folder; a user's profile takes the place of one with the same id. */
export async function readLibrary(written: readonly Driver[], userFolder?: string): Promise<ProfileLibrary> {
  const profiles = new Map<string, Driver>(written.map((driver) => [driver.profile.id, driver]))
  const problems: ProfileProblem[] = []
  for (const folder of userFolder === undefined ? [OWN_FOLDER] : [OWN_FOLDER, userFolder]) {
    for (const name of await jsonFiles(folder)) {
      const path = join(folder, name)
      const { size } = await stat(path)
      if (size > MOST_BYTES) {
        const sentence = `the file has ${size} bytes; a profile has at most ${MOST_BYTES}`
        problems.push({ id: idOfFile(path), file: path, line: 1, column: 1, sentence })
        continue
      }
      const text = await readFile(path, 'utf8')
      const checked = checkProfile(text, path)
      if (checked.ok) profiles.set(checked.profile.id, { profile: checked.profile, source: path, text })
      else problems.push(...checked.problems)
    }
  }
  for (const driver of [...profiles.values()]) {
    for (const part of partsOf(driver)) profiles.set(part.profile.id, part)
  }
  return { profiles, problems }
}

/** Each part of a case as a profile of its own, called "case/part". */
export function partsOf(driver: Driver): Driver[] {
  // What tells by itself is the instrument that the case is named after.
  const { parts = {}, stream: _stream, ...whole } = driver.profile
  return Object.entries(parts).map(([name, part]) => {
    const { unit, inputs, ranges, quantities, ...own } = part
    const profile: Profile = { ...whole, id: `${whole.id}/${name}`, unit, inputs, ranges, quantities, ...own }
    return {
      profile: { ...profile, transcript: [] },
      whole: driver.profile,
      source: driver.source,
      text: driver.text,
    }
  })
}

async function jsonFiles(folder: string): Promise<string[]> {
  try {
    const names = (await readdir(folder)).filter((name) => name.endsWith('.json'))
    return names.sort().slice(0, MOST_FILES)
  } catch (error) {
    // A user's folder need not exist.
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return []
    throw error
  }
}
