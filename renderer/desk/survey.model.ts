import { BathSurvey } from '../../app/records/bath.ts'
import type { DotSeries } from '../plots/DotPlot.tsx'
import { fixed, readNumber } from '../text/numbers.ts'

/** A survey of a bath as it is typed: lists are lines of text. */
export interface SurveyDraft {
  date: string
  who: string
  /** A place and how deep, mm, in each line. */
  positions: string
  /** Temperature, standard uncertainty of the difference of two places, mK, degrees of freedom in each line. */
  points: string
  note: string
}

export const newSurvey = (date: string, who: string): SurveyDraft => ({
  ...{ date, who, positions: '', points: '', note: '' },
})

export type SurveyProblems = Partial<Record<keyof SurveyDraft, string>>

const linesOf = (text: string): string[] =>
  text
    .split('\n')
    .map((line) => line.trim())
    .filter(Boolean)

/** 'rim 200': the last word is the depth. */
function positionIn(line: string): { name: string; depthMm: number } | undefined {
  const [, name, depth] = /^(.*\S)[\s;,]+(\S+)$/.exec(line.replace(/\s*mm$/, '')) ?? []
  const depthMm = depth === undefined ? undefined : readNumber(depth)
  return name === undefined || depthMm === undefined || depthMm <= 0 ? undefined : { name, depthMm }
}

function pointIn(line: string): { celsius: number; uMk: number; degreesOfFreedom: number } | undefined {
  const [celsius, uMk, degreesOfFreedom, ...more] = line.split(/[\s;]+/).map((word) => readNumber(word))
  return celsius === undefined || uMk === undefined || degreesOfFreedom === undefined || more.length > 0
    ? undefined
    : { celsius, uMk, degreesOfFreedom }
}

/** The survey that a draft says, or what is wrong with it, by field. */
export function readSurvey(
  draft: SurveyDraft,
  id: string,
): { survey: BathSurvey | undefined; problems: SurveyProblems } {
  const problems: SurveyProblems = {}
  const read = <T>(
    field: 'positions' | 'points',
    one: (line: string) => T | undefined,
    wanted: string,
  ): T[] =>
    linesOf(draft[field]).flatMap((line) => {
      const found = one(line)
      if (found === undefined) problems[field] = `“${line}”: ${wanted}`
      return found ?? []
    })
  const positions = read('positions', positionIn, 'a place and its depth in mm, such as rim 200')
  const points = read('points', pointIn, 'three numbers: °C, mK, degrees of freedom')
  if (Object.keys(problems).length > 0) return { survey: undefined, problems }
  const parsed = BathSurvey.safeParse({
    ...{ id, date: draft.date.trim(), who: draft.who.trim(), positions, points },
    ...(draft.note.trim() !== '' && { note: draft.note.trim() }),
  })
  if (parsed.success) return { survey: parsed.data, problems }
  for (const { path, message } of parsed.error.issues) {
    const field = String(path[0]) as keyof SurveyDraft
    problems[field] ??= WORDS[field] ?? sentence(message)
  }
  return { survey: undefined, problems }
}

const WORDS: SurveyProblems = { date: 'A day such as 2026-02-10', who: 'Who made the survey' }

const sentence = (words: string): string => `${words.charAt(0).toUpperCase()}${words.slice(1)}.`

/** Uniformity over the years: one series for each temperature that surveys have in common. */
export function surveySeries(surveys: readonly BathSurvey[]): DotSeries[] {
  const temperatures = [...new Set(surveys.flatMap((s) => s.points.map((p) => p.celsius)))].toSorted(
    (a, b) => a - b,
  )
  const dated = surveys.toSorted((a, b) => a.date.localeCompare(b.date))
  return temperatures.map((celsius) => ({
    name: `${fixed(celsius, 0)} °C`,
    joined: true,
    dots: dated.flatMap(({ id, date, who, points }) =>
      points
        .filter((p) => p.celsius === celsius)
        .map((p) => ({
          key: `${id} ${celsius}`,
          x: Date.parse(date) / 1000,
          y: p.uMk,
          words: `${date}, ${who}: u ${p.uMk} mK at ${fixed(celsius, 0)} °C, ${p.degreesOfFreedom} degrees of freedom`,
        })),
    ),
  }))
}
