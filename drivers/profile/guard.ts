import { headerPattern, type MessageUnit, splitMessage } from '../language/headers.ts'
import { convertNumber } from '../language/linear.ts'
import { readNumber, timesPowerOfTen } from '../language/numbers.ts'
import type { Command, Parameter, Profile } from './schema.ts'
import { checkLimits, TemplateError } from './template.ts'

/** What a line typed by a person may do. */
export type Verdict =
  | { readonly allowed: true; readonly replies: 0 | 1; readonly changes: boolean }
  | { readonly allowed: false; readonly sentence: string }

/** Narrower limits set on the bench, by parameter. */
export type Limits = Readonly<Record<string, { readonly low: number; readonly high: number }>>

interface Known {
  readonly name: string
  readonly command: Command
  readonly matches: (unit: MessageUnit) => boolean
  readonly parameters: RegExp
}

/**
 * Judges typed lines by the profile's own commands. A number outside a command's limits is refused, so is a line that
 * the profile does not know and that is not a question (it could be a limit by another name).
 */
export class Guard {
  readonly #profile: Profile
  readonly #known: readonly Known[]

  constructor(profile: Profile) {
    this.#profile = profile
    this.#known = Object.entries(profile.commands).map(([name, command]) =>
      knownCommand(name, command, profile),
    )
  }

  judge(line: string, limits: Limits = {}): Verdict {
    // A control character could end this line and begin another one.
    if (/[^ -~]/.test(line)) return refused('a line to send holds printable characters only')
    if (line.trim() === '') return refused('there is nothing to send')
    const scpi = this.#profile.language === 'scpi'
    const units = scpi ? splitMessage(line) : [{ header: line.trim(), parameters: '' }]
    let replies: 0 | 1 = 0
    let changes = false
    for (const unit of units) {
      const verdict = this.#judgeUnit(unit, limits, scpi)
      if (!verdict.allowed) return verdict
      if (verdict.replies === 1) replies = 1
      changes ||= verdict.changes
    }
    return { allowed: true, replies, changes }
  }

  #judgeUnit(unit: MessageUnit, limits: Limits, scpi: boolean): Verdict {
    const candidates = this.#known.filter((each) => each.matches(unit))
    if (candidates.length === 0) return this.#judgeUnknown(unit, scpi)
    let refusal: Verdict | undefined
    for (const known of candidates) {
      const verdict = judgeKnown(known, unit, limits, scpi)
      if (verdict.allowed) return verdict
      refusal ??= verdict
    }
    return refusal!
  }

  #judgeUnknown(unit: MessageUnit, scpi: boolean): Verdict {
    const asks = scpi ? unit.header.endsWith('?') : /\?\s*$/.test(unit.header)
    if (asks) return { allowed: true, replies: 1, changes: false }
    if (this.#profile.typed.unknown === 'allow')
      return { allowed: true, replies: scpi ? 0 : 1, changes: true }
    return refused(
      `"${unit.header}" is not in the profile ${this.#profile.id}, so its limits cannot be held. Questions may be typed freely; to use this command, describe it in the profile.`,
    )
  }
}

function judgeKnown(known: Known, unit: MessageUnit, limits: Limits, scpi: boolean): Verdict {
  const { command, name } = known
  const match = known.parameters.exec(scpi ? unit.parameters.trim() : unit.header)
  if (match === null)
    return refused(`the numbers of "${unit.header}" (${name}) cannot be read, so its limits cannot be held`)
  for (const [parameter, rule] of Object.entries(command.parameters)) {
    const problem = judgeParameter(
      parameter,
      match.groups?.[parameter.replaceAll('-', '_')] ?? '',
      rule,
      limits[parameter],
    )
    if (problem !== undefined) return refused(problem)
  }
  return {
    allowed: true,
    replies: command.answer.kind === 'none' ? 0 : 1,
    changes: command.risk !== 'read-only',
  }
}

function judgeParameter(
  name: string,
  text: string,
  rule: Parameter,
  limits: { low: number; high: number } | undefined,
): string | undefined {
  if (rule.words !== undefined) {
    const words = Object.values(rule.words)
    const said = text.trim().toUpperCase()
    return words.some((word) => word.toUpperCase() === said)
      ? undefined
      : `${name} may be ${words.join(' or ')}, not "${text}"`
  }
  const number = readNumber(rule.comma === true ? text.replace(',', '.') : text)
  if (number.kind !== 'number')
    return `${name} "${text}" is not a plain number (write it without a unit), so its limits cannot be held`
  const sent = Number(timesPowerOfTen(number.text, -(rule.power ?? 0)))
  const value = rule.linear === undefined ? sent : convertNumber(sent, rule.linear)
  try {
    checkLimits(name, value, rule)
    if (limits !== undefined) checkLimits(name, value, { ...rule, ...limits })
  } catch (error) {
    if (error instanceof TemplateError) return error.message
    throw error
  }
  return undefined
}

function knownCommand(name: string, command: Command, profile: Profile): Known {
  if (profile.language === 'plain') {
    const pattern = templatePattern(command.send, '[^,;]+?', command)
    return { name, command, matches: (unit) => pattern.test(unit.header), parameters: pattern }
  }
  const [, header = '', rest = ''] = /^(\S+)\s*(.*)$/s.exec(command.send) ?? []
  const pattern = headerPattern(header)
  return {
    name,
    command,
    matches: (unit) => pattern.test(unit.header),
    parameters: templatePattern(rest, '[^,;()]+?', command),
  }
}

/** A pattern of a line with its braces open. Blanks count as any number of blanks, letters in either case. */
function templatePattern(template: string, value: string, command: Command): RegExp {
  const source = template
    .split(/\{([a-z][a-z0-9-]*)\}/)
    .map((part, i) => {
      if (i % 2 === 0) return part.trim() === '' ? '\\s*' : literal(part)
      // A decimal comma belongs to the number.
      const inner = command.parameters[part]?.comma === true ? '[^;]+?' : value
      return `\\s*(?<${part.replaceAll('-', '_')}>${inner})\\s*`
    })
    .join('')
  return new RegExp(`^\\s*${source}\\s*$`, 'i')
}

function literal(text: string): string {
  return text
    .split(/\s+/)
    .map((word) => word.replace(/[.*+?^${}()|[\]\\]/g, '\\$&'))
    .join('\\s*')
}

function refused(sentence: string): Verdict {
  return { allowed: false, sentence }
}
