import { z } from 'zod'

const PLACE = /\{number(?::(\d))?\}/

/**
 * How a laboratory numbers its certificates: any text with `{number}` once (`{number:4}` for four digits at least), and `{year}`
 * where each year has a series of its own.
 */
export const CertificatePattern = z
  .string()
  .min(8)
  .max(60)
  .regex(/^[\p{L}\p{N} ._/{}:-]+$/u, 'letters, digits, blanks and . _ / - beside {number} and {year}')
  .refine(
    (text) => text.split(PLACE).length === 3,
    'Put {number} into it once, for instance QTL-{year}-{number:4}.',
  )

/** The series that a number belongs to: its text with the year in it and the number open. */
export const seriesOf = (pattern: string, year: number): string =>
  pattern.replaceAll('{year}', String(year)).replace(PLACE, '{number}')

/** The n-th number of a series. */
export const certificateNumber = (pattern: string, year: number, n: number): string =>
  pattern
    .replaceAll('{year}', String(year))
    .replace(PLACE, (_, digits: string | undefined) => String(n).padStart(Number(digits ?? 1), '0'))
