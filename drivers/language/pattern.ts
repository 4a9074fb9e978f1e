import { RE2JS } from 're2js'

/** What a pattern found: the whole, and the named groups that took part. */
export interface Found {
  readonly text: string
  readonly groups: Readonly<Record<string, string | undefined>>
}

/** A pattern of a profile, ready to be matched. It always ends, in time that grows with the text and no faster. */
export interface Matcher {
  test(text: string): boolean
  find(text: string): Found | undefined
}

export interface PatternFlags {
  /** The point stands for line ends too. */
  readonly dotAll?: boolean
  readonly ignoreCase?: boolean
}

/** Texts up to this long are given to the runtime's own engine, where the pattern is plain; it is a hundred times as fast. */
const SHORT = 64
/** Repetitions without an upper bound in a plain pattern: the engine tries at most SHORT to this power ways. */
const MOST_REPEATS = 3

/**
 * Compiles a pattern in the syntax of RE2 (https://github.com/google/re2/wiki/Syntax), whose matching never runs away whatever the
 * pattern and the text. Throws an Error that says what is wrong.
 */
export function compilePattern(
  source: string,
  { dotAll = false, ignoreCase = false }: PatternFlags = {},
): Matcher {
  const bounded = RE2JS.compile(
    source,
    (dotAll ? RE2JS.DOTALL : 0) | (ignoreCase ? RE2JS.CASE_INSENSITIVE : 0),
  )
  const repeats = repeatsIn(source)
  const quick =
    repeats > MOST_REPEATS ? undefined : new RegExp(source, `${dotAll ? 's' : ''}${ignoreCase ? 'i' : ''}`)
  const names = Object.keys(bounded.namedGroups())
  const isQuick = (text: string) => quick !== undefined && (repeats === 0 || text.length <= SHORT)
  return {
    test: (text) => (isQuick(text) ? quick!.test(text) : bounded.matcher(text).find()),
    find(text) {
      if (isQuick(text)) {
        const match = quick!.exec(text)
        return match === null ? undefined : { text: match[0], groups: match.groups ?? NO_GROUPS }
      }
      const matcher = bounded.matcher(text)
      if (!matcher.find()) return undefined
      const groups = Object.fromEntries(names.map((name) => [name, matcher.group(name) ?? undefined]))
      return { text: matcher.group() ?? '', groups }
    },
  }
}

const NO_GROUPS = {}

/** How many unbounded repetitions a plain pattern has; Infinity where a group is repeated, which may multiply them. */
function repeatsIn(source: string): number {
  const bare = source.replaceAll(/\\./g, 'x').replaceAll(/\[\^?\]?[^\]]*\]/g, 'x')
  if (/\)\s*(?:[*+]|\{)/.test(bare)) return Number.POSITIVE_INFINITY
  return (bare.match(/[*+]|\{\d+,\}/g) ?? []).length
}
