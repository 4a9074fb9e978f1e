import { type FSWatcher, mkdirSync, watch } from 'node:fs'
import { join } from 'node:path'
import { type Driver, loadProfiles, type ProfileLibrary } from '../../drivers/index.ts'
import type { StationLog } from '../station/log.ts'

/** Files are saved in several steps: they are read when nothing has changed for this long, ms. */
const QUIET_MS = 300

/**
 * The profiles as they are now: those of the program and those in the folder of this station, read again whenever a file in it
 * changes. A file with an error stands among the problems until it is mended.
 */
export class ProfileShelf implements ProfileLibrary {
  readonly folder: string
  readonly #log: StationLog
  #library: ProfileLibrary
  #watcher: FSWatcher | undefined
  #timer: NodeJS.Timeout | undefined
  /** Told of the profiles that are other ones now, came, or went. */
  onDidChange: (ids: ReadonlySet<string>) => void = () => {}

  constructor(folder: string, library: ProfileLibrary, log: StationLog) {
    this.folder = folder
    this.#library = library
    this.#log = log
    this.#tellProblems()
  }

  get profiles(): ProfileLibrary['profiles'] {
    return this.#library.profiles
  }

  get problems(): ProfileLibrary['problems'] {
    return this.#library.problems
  }

  /** Text of each profile by its id, for the record of a session. */
  get texts(): Readonly<Record<string, string>> {
    return Object.fromEntries([...this.profiles].map(([id, { text }]) => [id, text]))
  }

  watch(): void {
    try {
      this.#watcher = watch(this.folder, () => {
        clearTimeout(this.#timer)
        this.#timer = setTimeout(() => void this.reread(), QUIET_MS)
      })
      this.#watcher.on('error', (fault) =>
        this.#log.warn({ fault }, 'the folder of profiles is not watched any more'),
      )
      this.#watcher.unref()
    } catch (fault) {
      this.#log.warn(
        { fault },
        'the folder of profiles cannot be watched; it is read when the bench is looked at',
      )
    }
  }

  /** Reads all files anew; what cannot be read leaves everything as it was. */
  async reread(): Promise<void> {
    try {
      const before = this.#library
      this.#library = await loadProfiles({ userFolder: this.folder })
      const changed = changedBetween(before, this.#library)
      if (changed.size === 0) return
      this.#tellProblems()
      this.onDidChange(changed)
    } catch (fault) {
      this.#log.warn({ fault }, 'the folder of profiles cannot be read')
    }
  }

  close(): void {
    clearTimeout(this.#timer)
    this.#watcher?.close()
  }

  #tellProblems(): void {
    for (const problem of this.problems) this.#log.warn({ problem }, 'a profile cannot be used')
  }
}

export async function openProfileShelf(dataFolder: string, log: StationLog): Promise<ProfileShelf> {
  const folder = join(dataFolder, 'profiles')
  mkdirSync(folder, { recursive: true, mode: 0o700 })
  const shelf = new ProfileShelf(folder, await loadProfiles({ userFolder: folder }), log)
  shelf.watch()
  return shelf
}

function changedBetween(before: ProfileLibrary, after: ProfileLibrary): Set<string> {
  const textOf = ({ profiles, problems }: ProfileLibrary) =>
    new Map<string, string>([
      ...[...profiles].map(([id, { text }]: [string, Driver]): [string, string] => [id, text]),
      ...problems.map(({ id, line, sentence }): [string, string] => [id, `${line} ${sentence}`]),
    ])
  const [old, now] = [textOf(before), textOf(after)]
  return new Set([...old.keys(), ...now.keys()].filter((id) => old.get(id) !== now.get(id)))
}
