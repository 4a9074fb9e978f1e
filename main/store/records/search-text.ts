import { said } from '../../../app/messages/said.ts'
import { StoreError } from '../errors.ts'

const MOST_WORDS = 32
const MOST_CHARACTERS = 1000

/**
 * What a person typed as a query of FTS5: every word must occur, the beginning of one is enough, and signs within a
 * word part it as they parted the text ('Q-17' is q followed by 17). undefined where nothing is searched. Throws
 * StoreError 'refused' for more words than anyone searches.
 */
export function searchQuery(typed: string): string | undefined {
  const words = typed.split(/\s+/).filter((word) => /[\p{L}\p{N}\p{Co}]/u.test(word))
  if (words.length > MOST_WORDS || typed.length > MOST_CHARACTERS)
    throw new StoreError(
      'refused',
      said('search-too-long', { words: MOST_WORDS, characters: MOST_CHARACTERS }),
      { words: words.length, characters: typed.length },
    )
  if (words.length === 0) return undefined
  // A NUL would end the query early; a quote is doubled within quotes.
  return words.map((word) => `"${word.replaceAll('\0', ' ').replaceAll('"', '""')}"*`).join(' ')
}
