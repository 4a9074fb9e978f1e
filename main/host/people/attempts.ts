/** Wrong attempts at a person's password within this are remembered, ms. */
const REMEMBERED_MS = 3_600_000
/** The first wrong answers come at once: people mistype. */
const FREE = 2
const LONGEST_MS = 30_000
/** Wrong attempts an hour that get a line of their own in the ledger. */
const TOLD = 10

interface Wrong {
  times: number[]
  toldSinceMs: number
  told: number
  leftOut: number
}

/**
 * Guards passwords against guessing without ever keeping the right person out. A wrong answer comes the later the more
 * wrong ones there were for the person, from wherever; whoever waits for one cannot try another from the same place
 * meanwhile; the right answer is never held back.
 */
export class Attempts {
  readonly #nowMs: () => number
  readonly #wrong = new Map<string, Wrong>()
  readonly #underWay = new Set<unknown>()

  constructor(nowMs: () => number = () => Date.now()) {
    this.#nowMs = nowMs
  }

  /** Whether this place may try now; a function that tells that its answer has been given. */
  begin(from: unknown): (() => void) | undefined {
    if (this.#underWay.has(from)) return undefined
    this.#underWay.add(from)
    return () => this.#underWay.delete(from)
  }

  /** Counts a wrong attempt: how long its answer is held back, ms, and what the ledger is told of it, if anything. */
  wrong(person: string): { holdMs: number; words: string | undefined } {
    const now = this.#nowMs()
    const before = this.#wrong.get(person)
    const entry = before ?? { times: [], toldSinceMs: now, told: 0, leftOut: 0 }
    this.#wrong.set(person, entry)
    entry.times = entry.times.filter((at) => at > now - REMEMBERED_MS).slice(-20)
    entry.times.push(now)
    const holdMs =
      entry.times.length <= FREE ? 0 : Math.min(LONGEST_MS, 1000 * 2 ** (entry.times.length - FREE - 1))
    return { holdMs, words: this.#tell(entry, now) }
  }

  #tell(entry: Wrong, now: number): string | undefined {
    let more = ''
    if (now - entry.toldSinceMs > REMEMBERED_MS) {
      if (entry.leftOut > 0) more = ` ${entry.leftOut} more were made in the hour before.`
      Object.assign(entry, { toldSinceMs: now, told: 0, leftOut: 0 })
    }
    if (entry.told >= TOLD) {
      entry.leftOut += 1
      return undefined
    }
    entry.told += 1
    return `A wrong password was given.${more}`
  }
}
