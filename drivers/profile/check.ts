import type { z } from 'zod'
import { inconsistencies } from './consistency.ts'
import { JsonLines, type JsonPath, placeOf } from './json-lines.ts'
import { Profile } from './schema.ts'

/** Something wrong in a profile file, where it stands. */
export interface ProfileProblem {
  readonly file: string
  readonly line: number
  readonly sentence: string
  /** The profile that the file would have been: its own word, or what the file is called. */
  readonly id: string
}

export type ProfileCheck =
  | { readonly ok: true; readonly profile: Profile }
  | { readonly ok: false; readonly problems: readonly ProfileProblem[] }

/** Reads a profile's text; every problem names the line it is on. */
export function checkProfile(text: string, fileName: string): ProfileCheck {
  let json: unknown
  try {
    json = JSON.parse(text)
  } catch (error) {
    return { ok: false, problems: [syntaxProblem(text, fileName, error as Error)] }
  }
  const lines = new JsonLines(text)
  const id = idIn(json) ?? idOfFile(fileName)
  const at = (path: JsonPath, sentence: string): ProfileProblem => ({
    id,
    file: fileName,
    line: lines.lineOf(path),
    sentence,
  })
  const parsed = Profile.safeParse(json)
  if (!parsed.success) {
    const problems = parsed.error.issues.flatMap((issue) => tellIssue(issue, at))
    return { ok: false, problems: problems.toSorted((a, b) => a.line - b.line) }
  }
  const found = inconsistencies(parsed.data)
  if (found.length > 0) return { ok: false, problems: found.map((each) => at(each.path, each.message)) }
  return { ok: true, profile: parsed.data }
}

/** A problem as one line: file:line: sentence. */
export function tellProblem(problem: ProfileProblem): string {
  return `${problem.file}:${problem.line}: ${problem.sentence}`
}

function tellIssue(
  issue: z.core.$ZodIssue,
  at: (path: JsonPath, sentence: string) => ProfileProblem,
): ProfileProblem[] {
  if (issue.code === 'unrecognized_keys') {
    return issue.keys.map((key) => at([...issue.path, key], `"${key}" is not a word of a profile here`))
  }
  if (issue.code === 'invalid_union' && issue.errors.length > 0) {
    // The branch that got furthest tells most.
    const deepest = issue.errors.toSorted((a, b) => depth(b) - depth(a))[0] ?? []
    const inner = deepest.filter((each) => each.path.length > 0)
    if (inner.length > 0)
      return inner.flatMap((each) => tellIssue({ ...each, path: [...issue.path, ...each.path] }, at))
  }
  const where = issue.path.length === 0 ? 'the profile' : issue.path.map(String).join('.')
  const missing = issue.code === 'invalid_type' && /received undefined/.test(issue.message)
  return [at(issue.path, missing ? `${where} is missing` : `${where}: ${issue.message}`)]
}

function depth(issues: readonly z.core.$ZodIssue[]): number {
  return Math.max(0, ...issues.map((issue) => issue.path.length))
}

function syntaxProblem(text: string, file: string, error: Error): ProfileProblem {
  const offset = /position (\d+)/.exec(error.message)?.[1]
  const end = /end of JSON input/i.test(error.message) ? text.length : undefined
  const place = placeOf(text, offset === undefined ? (end ?? 0) : Number(offset))
  return {
    id: idOfFile(file),
    file,
    line: place.line,
    sentence: `not JSON at column ${place.column}: ${error.message}`,
  }
}

function idIn(json: unknown): string | undefined {
  const id: unknown = typeof json === 'object' && json !== null && 'id' in json ? json.id : undefined
  return typeof id === 'string' ? id : undefined
}

/** What a file of this name would hold, where it does not say so itself. */
export const idOfFile = (file: string): string => file.replace(/^.*[/\\]/, '').replace(/\.json$/, '')
