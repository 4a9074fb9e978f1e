import { type Figure, Figures } from './figures.ts'

/** Several figures that belong together. */
export interface Check {
  readonly title: string
  readonly run: (figures: Figures) => void
}

/** What the program is held against in one source: a publication, or a fact of the trade. */
export interface Publication {
  readonly id: string
  /** The source as a reader would look it up. */
  readonly source: string
  /** How the figures were obtained where that is not by reading the publication. */
  readonly standing: string
  readonly notChecked: readonly string[]
  readonly checks: readonly Check[]
}

/** What a check found: its figures, and the fault that ended it where there was one. */
export interface CheckResult {
  readonly publication: string
  readonly title: string
  readonly figures: readonly Figure[]
  readonly fault: string | null
  readonly passed: boolean
}

/** A publication whose checks are declared one after the other. */
export function publication(
  about: Omit<Publication, 'checks'>,
  declare: (check: (title: string, run: (figures: Figures) => void) => void) => void,
): Publication {
  const checks: Check[] = []
  declare((title, run) => checks.push({ title, run }))
  return { ...about, checks }
}

/** Runs one check. A fault inside it is a result as well: the check has then not passed. */
export function runCheck({ id }: Publication, { title, run }: Check): CheckResult {
  const figures = new Figures()
  let fault: string | null = null
  try {
    run(figures)
  } catch (thrown) {
    fault = thrown instanceof Error ? thrown.message : String(thrown)
  }
  const { all } = figures
  // A check that has looked at nothing shows nothing.
  const passed = fault === null && all.length > 0 && all.every(({ within }) => within)
  return { publication: id, title, figures: all, fault, passed }
}
