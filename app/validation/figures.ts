/** One figure that the program was held against. Texts, so that a record shows what was compared and no rounding of it. */
export interface Figure {
  readonly what: string
  readonly expected: string
  readonly got: string
  readonly unit: string
  /** By how much they part, in the sense that the limit has; empty where the two have to be the same. */
  readonly difference: string
  /** What the difference may be, in words. */
  readonly limit: string
  /** Difference over limit: 1 is just allowed; null where the two have to be the same. */
  readonly share: number | null
  readonly within: boolean
}

type Value = number | string

/** By how much a figure may differ that is printed with so many decimals. */
const half = (decimals: number) => 0.5 * 10 ** -decimals

/** NIST's own measure of agreement: 15 where equal, absolute where the certified value is 0. */
function logRelativeError(got: number, certified: number): number {
  if (got === certified) return 15
  const error = certified === 0 ? Math.abs(got) : Math.abs(got / certified - 1)
  return Math.min(15, -Math.log10(error))
}

const short = (value: number) => (Number.isFinite(value) ? Number(value.toPrecision(3)).toString() : 'none')
/** As JSON, but what is no number says so: JSON itself would make it null. */
const text = (value: unknown): string => {
  if (typeof value === 'string') return value
  const own = JSON.stringify(value, (_, part: unknown) =>
    typeof part === 'number' && !Number.isFinite(part) ? String(part) : part,
  )
  return own ?? 'undefined'
}

/** What was got beside what was expected, and the limit in words. */
interface Compared {
  readonly what: string
  readonly unit: string
  readonly expected: unknown
  readonly got: unknown
  readonly difference: number
  readonly limit: number
  readonly words: string
}

/** Gathers what a check compares. What is not a number is never within a limit. */
export class Figures {
  readonly #all: Figure[] = []

  get all(): readonly Figure[] {
    return this.#all
  }

  #add({ what, unit, expected, got, difference, limit, words }: Compared): void {
    this.#all.push({
      what,
      unit,
      expected: text(expected),
      got: text(got),
      difference: short(difference),
      limit: words,
      share: limit === 0 ? (difference === 0 ? 0 : Number.POSITIVE_INFINITY) : difference / limit,
      within: difference <= limit,
    })
  }

  /** |got - expected| is at most the limit, in the unit of both. */
  near(what: string, got: number, expected: Value, limit: number, unit = ''): void {
    this.#add({
      what,
      unit,
      expected,
      got,
      difference: Math.abs(got - Number(expected)),
      limit,
      words: `${short(limit)}${unit && ` ${unit}`}`,
    })
  }

  /** |got / expected - 1| is at most the limit. */
  relative(what: string, got: number, expected: Value, limit: number, unit = ''): void {
    this.#add({
      what,
      unit,
      expected,
      got,
      difference: Math.abs(got / Number(expected) - 1),
      limit,
      words: `${short(limit)} relative`,
    })
  }

  /** Equal after rounding to the decimals that were printed; with some slack where the print was made from rounded figures. */
  printed(what: string, got: number, printed: Value, decimals: number, unit = '', slack = 0): void {
    this.near(what, got, printed, half(decimals) * (1 + 1e-9) + slack, unit)
  }

  /** Equal to so many decimals where nothing is printed: a difference below half a unit of the last. */
  decimals(what: string, got: number, expected: Value, decimals: number, unit = ''): void {
    this.near(what, got, expected, half(decimals), unit)
  }

  /** Agrees to at least so many digits by the log relative error. */
  digits(what: string, got: number, certified: number, atLeast: number): void {
    const found = logRelativeError(got, certified)
    this.#all.push({
      what,
      unit: '',
      expected: text(certified),
      got: text(got),
      difference: `${found.toFixed(1)} digits`,
      limit: `at least ${atLeast} digits`,
      share: found > 0 ? atLeast / found : Number.POSITIVE_INFINITY,
      within: found >= atLeast,
    })
  }

  /** A measure of disagreement that must not exceed what the publication states; nothing more is known of it. */
  atMost(what: string, got: number, limit: number, unit = ''): void {
    this.#add({
      what,
      unit,
      expected: `at most ${short(limit)}`,
      got,
      difference: Math.abs(got),
      limit,
      words: `${short(limit)}${unit && ` ${unit}`}`,
    })
  }

  /** Lies between two values, both allowed. */
  between(what: string, got: number, low: number, high: number, unit = ''): void {
    const middle = (low + high) / 2
    const room = (high - low) / 2
    this.#add({
      what,
      unit,
      expected: `${short(low)} to ${short(high)}`,
      got,
      difference: Math.abs(got - middle),
      limit: room,
      words: `${short(room)} of the middle`,
    })
  }

  /** Exactly the same: a number, a text, a list. */
  same(what: string, got: unknown, expected: unknown, unit = ''): void {
    const [own, wanted] = [text(got), text(expected)]
    this.#all.push({
      what,
      unit,
      expected: wanted,
      got: own,
      difference: '',
      limit: 'the same',
      share: null,
      within: own === wanted,
    })
  }
}
