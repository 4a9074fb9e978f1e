import { existsSync, readdirSync, readFileSync } from 'node:fs'
import path from 'node:path'
import { said } from '../../../app/messages/said.ts'
import { ComparisonError } from '../../../app/results/uncertainty-error.ts'
import { type BudgetTemplate, parseBudgetTemplate } from '../../../app/results/uncertainty-template.ts'

/** Where in a station's data folder a laboratory keeps budget templates of its own. */
export const BUDGET_FOLDER = 'budgets'

/**
 * The laboratory's own budget templates: `budgets/*.json` in the data folder, in the order of their names; none where
 * there is no such folder.
 *
 * Throws ComparisonError 'bad-template' that names the file and the place that is not right.
 */
export function readBudgetTemplates(dataFolder: string): BudgetTemplate[] {
  const folder = path.join(dataFolder, BUDGET_FOLDER)
  if (!existsSync(folder)) return []
  return readdirSync(folder)
    .filter((name) => name.endsWith('.json'))
    .toSorted()
    .map((name) => {
      try {
        return parseBudgetTemplate(JSON.parse(readFileSync(path.join(folder, name), 'utf8')))
      } catch (fault) {
        const words = fault instanceof Error ? fault.message : String(fault)
        throw new ComparisonError(
          'bad-template',
          said('budget-file-wrong', { folder: BUDGET_FOLDER, name, words }),
          { file: name },
        )
      }
    })
}
