/** Changes that were looked at one by one and change nothing that is told: they are not drawn. */

interface Same {
  readonly file: string
  readonly what: string
  /** The text of the line, so that another line is judged anew. */
  readonly line: string
  readonly why: string
}

export const SAME: readonly Same[] = []

export const isSame = ({ file, what, line }: Omit<Same, 'why'>): boolean =>
  SAME.some((same) => same.file === file && same.what === what && same.line === line.trim())
