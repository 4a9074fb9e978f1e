import type { SignerStatements } from '../../app/records/certificate.ts'

/** What the signer has to answer, and what belongs there. */
export const QUESTIONS: readonly {
  readonly key: keyof SignerStatements
  readonly label: string
  readonly about: string
}[] = [
  {
    key: 'deviations',
    label: 'Deviations from the method',
    about: 'What was done otherwise than the procedure says, and why.',
  },
  {
    key: 'externalProviders',
    label: 'Results of external providers',
    about: 'Which results another laboratory supplied.',
  },
  {
    key: 'adjustment',
    label: 'Adjustment or repair',
    about: 'What was adjusted or repaired here, before or after the calibration.',
  },
  {
    key: 'opinions',
    label: 'Opinions and interpretations',
    about: 'Stated under the name of the signer.',
  },
  {
    key: 'customerSupplied',
    label: 'Supplied by the customer',
    about:
      'Facts the customer gave that may affect the results, for instance the construction of an element.',
  },
]

export interface Answer {
  readonly none: boolean
  readonly words: string
}
export type Answers = Readonly<Record<keyof SignerStatements, Answer>>

const OPEN: Answer = { none: false, words: '' }

export const NO_ANSWERS: Answers = {
  deviations: OPEN,
  externalProviders: OPEN,
  adjustment: OPEN,
  opinions: OPEN,
  customerSupplied: OPEN,
}

/** The answers as the station takes them; null while one is open. */
export function statementsOf(answers: Answers): SignerStatements | null {
  const entries = QUESTIONS.map(({ key }) => {
    const { none, words } = answers[key]
    return [key, none ? null : words.trim()] as const
  })
  return entries.some(([, words]) => words === '') ? null : (Object.fromEntries(entries) as SignerStatements)
}
