/** What a validator found, as far as its words need it. */
export interface Issue {
  readonly code?: string | undefined
  readonly path?: readonly PropertyKey[] | undefined
  readonly message?: string | undefined
  readonly minimum?: number | bigint | undefined
  readonly maximum?: number | bigint | undefined
  readonly inclusive?: boolean | undefined
  readonly origin?: string | undefined
}

/** 'highestRatio' as 'highest ratio'. */
const spoken = (name: string): string => name.replace(/([a-z])([A-Z])/g, '$1 $2').toLowerCase()

/** A path as a person says it, numbers counted from one: 'setpoints 3 celsius'. */
const pathWords = (path: readonly PropertyKey[]): string =>
  path.map((part) => (typeof part === 'number' ? String(part + 1) : spoken(String(part)))).join(' ')

const began = (words: string): string => words.charAt(0).toUpperCase() + words.slice(1)

/**
 * An issue as a sentence that says what to do. `labelOf` gives the name that a field carries on the screen, and what
 * else can be done where it is missing.
 */
export function issueWords(
  issue: Issue | undefined,
  labelOf: (path: readonly PropertyKey[]) => { label: string; orElse?: string } | undefined = () => undefined,
): string {
  if (!issue) return 'Something here does not fit together. Check what was typed last.'
  const path = issue.path ?? []
  const known = labelOf(path)
  const label = known?.label ?? (path.length > 0 ? began(pathWords(path)) : 'This')
  const { code, minimum, maximum, inclusive, origin } = issue
  if (code === 'invalid_type' && /received undefined/.test(issue.message ?? ''))
    return `${label} is missing. Enter it${known?.orElse ? `, or ${known.orElse}` : ''}.`
  if (code === 'too_small' && origin === 'number')
    return `${label} must be ${inclusive ? 'at least' : 'above'} ${minimum}.`
  if (code === 'too_big' && origin === 'number')
    return `${label} must be ${inclusive ? 'at most' : 'below'} ${maximum}.`
  if (code === 'too_small') return `${label} needs at least ${minimum}. Add what is missing.`
  if (code === 'too_big') return `${label} is too long: at most ${maximum}. Shorten it.`
  if (code === 'custom' && issue.message) return `${label}: ${issue.message}`
  return `${label} cannot be kept as it is typed. Check it.`
}
