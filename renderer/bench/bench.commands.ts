import type { Command } from '../page/page.ts'

interface Acts {
  addInstrument: () => void
  /** undefined where there is nothing to measure with, or nothing to save. */
  addChannel: (() => void) | undefined
  openLinks: () => void
  save: (() => void) | undefined
}

/** What the list of commands offers on the bench. */
export const benchCommands = ({ addInstrument, addChannel, openLinks, save }: Acts): Command[] => [
  { id: 'bench-instrument', words: 'Add an instrument', group: 'Bench', run: addInstrument },
  ...(addChannel ? [{ id: 'bench-channel', words: 'Add a channel', group: 'Bench', run: addChannel }] : []),
  { id: 'bench-links', words: 'Open the links', group: 'Bench', run: openLinks },
  ...(save ? [{ id: 'bench-save', words: 'Save the bench', group: 'Bench', run: save }] : []),
]
