import { readFile } from 'node:fs/promises'
import { first } from '../../app/base/lists.ts'
import { Plan } from '../../app/records/plan.ts'

/** A plan as a command names it: the contents of a JSON file, or the id of one that the station keeps. */
export async function readPlan(plan: string): Promise<Plan | string> {
  if (!plan.endsWith('.json')) return plan
  const text = await readFile(plan, 'utf8').catch(() => {
    throw new Error(`The plan file ${plan} cannot be read. Check its path.`)
  })
  let json: unknown
  try {
    json = JSON.parse(text)
  } catch (fault) {
    throw new Error(`The plan file ${plan} is not JSON: ${(fault as Error).message}`)
  }
  const parsed = Plan.safeParse(json)
  if (parsed.success) return parsed.data
  const issue = first(parsed.error.issues)
  throw new Error(
    `The plan file ${plan} is not a plan: at ${issue.path.join('.') || 'its top'}, ${issue.message}.`,
  )
}
