import { createHash } from 'node:crypto'

/** SHA-256 of a validation's record as it is kept. */
export const hashOfRecord = (json: string): string => createHash('sha256').update(json).digest('hex')
