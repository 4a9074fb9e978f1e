import { z } from 'zod'
import { LANGUAGES } from './certificate.ts'

const Id = z.string().min(1).max(80)

/** Who sends thermometers, and how their certificates are written. */
export const Customer = z.strictObject({
  id: Id,
  name: z.string().min(1),
  /** Lines of it. */
  address: z.array(z.string()).default([]),
  contact: z.string().default(''),
  email: z.string().default(''),
  /** Language of the certificate, and its decimal sign where that differs from what the language uses. */
  language: z.enum(LANGUAGES).default('en'),
  decimalSign: z.enum(['.', ',']).optional(),
  note: z.string().optional(),
})
export type Customer = z.output<typeof Customer>
