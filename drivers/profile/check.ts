import type { z } from 'zod'
import { inconsistencies } from './consistency.ts'
import { JsonLines, type JsonPath, placeOf } from './json-lines.ts'
import { Profile } from './schema.ts'

/** Something wrong in a profile file, where it stands. */
export interface ProfileProblem {
  readonly file: string
  readonly line: number
  readonly column: number
  readonly sentence: string
  /** The profile that the file would have been: its own word, or what the file is called. */
  readonly id: string
}

export type ProfileCheck =
  | { readonly ok: true; readonly profile: Profile }
  | { readonly ok: false; readonly problems: readonly ProfileProblem[] }

/** Reads a profile's text; every problem names the line and column it is at. */
export function checkProfile(text: string, fileName: string): ProfileCheck {
  let json: unknown
  try {
    json = JSON.parse(text)
  } catch (error) {
    return { ok: false, problems: [syntaxProblem(text, fileName, error as Error)] }
  }
  const id = idIn(json) ?? idOfFile(fileName)
  const tooDeep = firstBelow(text, MOST_LEVELS)
  if (tooDeep !== undefined) {
    const sentence = `braces and brackets are nested more than ${MOST_LEVELS} deep, which no profile needs`
    return { ok: false, problems: [{ id, file: fileName, ...placeOf(text, tooDeep), sentence }] }
  }
  const lines = new JsonLines(text)
  const at = (path: JsonPath, sentence: string): ProfileProblem => ({
    id,
    file: fileName,
    ...lines.placeOf(path),
    sentence,
  })
  const parsed = Profile.safeParse(json)
  if (!parsed.success) {
    const problems = parsed.error.issues.flatMap((issue) => tellIssue(issue, at))
    return { ok: false, problems: inOrder(problems) }
  }
  const found = inconsistencies(parsed.data)
  if (found.length > 0)
    return { ok: false, problems: inOrder(found.map((each) => at(each.path, each.message))) }
  return { ok: true, profile: parsed.data }
}

/** Levels of braces and brackets: those that ship have eight. */
const MOST_LEVELS = 40

/** Where a JSON text first goes deeper than so many levels. */
function firstBelow(text: string, levels: number): number | undefined {
  let depth = 0
  for (let at = 0, quoted = false; at < text.length; at++) {
    const character = text[at]
    if (character === '"') quoted = !quoted
    else if (quoted) at += character === '\\' ? 1 : 0
    else if (character === '{' || character === '[') {
      if (++depth > levels) return at
    } else if (character === '}' || character === ']') depth--
  }
  return undefined
}

const inOrder = (problems: readonly ProfileProblem[]): ProfileProblem[] =>
  problems.toSorted((a, b) => a.line - b.line || a.column - b.column)

/** A problem as one line: file:line:column: sentence. */
export function tellProblem(problem: ProfileProblem): string {
  return `${problem.file}:${problem.line}:${problem.column}: ${problem.sentence}`
}

function tellIssue(
  issue: z.core.$ZodIssue,
  at: (path: JsonPath, sentence: string) => ProfileProblem,
): ProfileProblem[] {
  if (issue.code === 'unrecognized_keys') {
    return issue.keys.map((key) => at([...issue.path, key], `"${key}" is not a word of a profile here`))
  }
  if (issue.code === 'invalid_union' && issue.errors.length > 0) {
    const inner = closest(issue.errors)
    if (inner.length > 0)
      return inner.flatMap((each) => tellIssue({ ...each, path: [...issue.path, ...each.path] }, at))
  }
  const where = issue.path.length === 0 ? 'the profile' : issue.path.map(String).join('.')
  const missing = issue.code === 'invalid_type' && /received undefined/.test(issue.message)
  return [at(issue.path, missing ? `${where} is missing` : `${where}: ${issue.message}`)]
}

/** What is wrong by the form that the file comes closest to: the one with the fewest faults among those of its type. */
function closest(forms: readonly (readonly z.core.$ZodIssue[])[]): readonly z.core.$ZodIssue[] {
  const likely = forms.filter(
    (issues) => !issues.some(({ code, path }) => code === 'invalid_type' && path.length === 0),
  )
  return likely.toSorted((a, b) => faults(a) - faults(b))[0] ?? []
}

const faults = (issues: readonly z.core.$ZodIssue[]): number =>
  issues.reduce((sum, issue) => sum + (issue.code === 'unrecognized_keys' ? issue.keys.length : 1), 0)

function syntaxProblem(text: string, file: string, error: Error): ProfileProblem {
  const offset = /position (\d+)/.exec(error.message)?.[1]
  const end = /end of JSON input/i.test(error.message) ? text.length : undefined
  const place = placeOf(text, offset === undefined ? (end ?? 0) : Number(offset))
  return {
    id: idOfFile(file),
    file,
    ...place,
    sentence: `not JSON: ${error.message}`,
  }
}

function idIn(json: unknown): string | undefined {
  const id: unknown = typeof json === 'object' && json !== null && 'id' in json ? json.id : undefined
  return typeof id === 'string' ? id : undefined
}

/** What a file of this name would hold, where it does not say so itself. */
export const idOfFile = (file: string): string => file.replace(/^.*[/\\]/, '').replace(/\.json$/, '')
