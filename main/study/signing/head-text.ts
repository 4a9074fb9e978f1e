import type { SignOff } from '../../store/session-file.ts'

/** The text that is signed for the head of a session's chain, beside its certificates. */
export const headText = (session: string, { head, readings }: Pick<SignOff, 'head' | 'readings'>): string =>
  `${session}\nchain head ${head}\nreadings ${readings}\n`

/** The file that it stands in. */
export const HEAD_FILE = 'session-head.txt'
