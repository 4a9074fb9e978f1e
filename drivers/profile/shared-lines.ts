import type { BenchInstrument } from '../../app/records/bench.ts'
import { linkWords } from '../../app/records/link-words.ts'
import type { ProfileLine } from './line.ts'
import type { Profile } from './schema.ts'

/** The lines of a bench: instruments in one case, whose bench entries name the same link, share theirs. */
export class SharedLines {
  readonly #lines = new Map<string, ProfileLine>()

  /** The line an instrument is upon; `make` makes it for the first one. A case of one instrument has its own. */
  lineOf({ link }: BenchInstrument, whole: Profile, make: () => ProfileLine): ProfileLine {
    if (whole.parts === undefined) return make()
    const key = `${link.kind} ${linkWords(link)}`
    const there = this.#lines.get(key)
    // One by a profile that has been changed meanwhile is left to those who still hold it.
    if (there?.profile === whole) return there
    const line = make()
    this.#lines.set(key, line)
    line.onEmpty = () => {
      if (this.#lines.get(key) === line) this.#lines.delete(key)
    }
    return line
  }
}
