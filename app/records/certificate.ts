import { z } from 'zod'

/** Languages in which a certificate can be written. */
export const LANGUAGES = ['en', 'de', 'fr', 'es'] as const

export const TOLERANCE_CLASS_NAMES = ['AA', 'A', 'B', 'C'] as const

/** How an industrial platinum element is made; the range of a tolerance class depends on it. */
export const Construction = z.enum(['wire-wound', 'film'])
export type Construction = z.output<typeof Construction>

/** `simple`: the deviation against the tolerance alone; `guarded`: with a guard band as wide as U and conditional statements within it. */
export const DecisionRuleName = z.enum(['simple', 'guarded'])
export type DecisionRuleName = z.output<typeof DecisionRuleName>

/** The class and the rule that were agreed with the customer; ISO/IEC 17025:2017, 7.8.6. */
export const ConformityAsked = z.strictObject({
  class: z.enum(TOLERANCE_CLASS_NAMES),
  rule: DecisionRuleName.default('guarded'),
})
export type ConformityAsked = z.output<typeof ConformityAsked>

/** What a customer asked of the certificate of one item. */
export const CertificateWish = z.strictObject({
  /** No statement of conformity where none was asked for. */
  conformity: ConformityAsked.optional(),
  /** Step of the interpolation table, K; no table where none was asked for. */
  tableStepK: z.number().positive().optional(),
  /** The budgets of the points, where they were asked for. */
  budget: z.boolean().optional(),
  /** One language, or two side by side. */
  languages: z.array(z.enum(LANGUAGES)).min(1).max(2).default(['en']),
  /** Decimal sign of the certificate and its table; absent: as the leading language has it. */
  decimalSign: z.enum(['.', ',']).optional(),
})
export type CertificateWish = z.output<typeof CertificateWish>

/** What is asked for one item of an order; languages that are left out are the customer's. */
export const ItemWish = CertificateWish.extend({
  languages: CertificateWish.shape.languages.unwrap().optional(),
})
export type ItemWish = z.output<typeof ItemWish>

/** Words of a signer; null: the signer states that there are none. */
const Answer = z.string().trim().min(1).max(2000).nullable()

/** What only a person can state. Each is answered by the signer of a certificate, and none is assumed. */
export const SignerStatements = z.strictObject({
  /** Deviations from the method; ISO/IEC 17025:2017, 7.8.2.1 n). */
  deviations: Answer,
  /** Results of external providers; 7.8.2.1 p). */
  externalProviders: Answer,
  /** Adjustment or repair before or after the calibration; 7.8.4.1 d). */
  adjustment: Answer,
  /** Opinions and interpretations; 7.8.7. */
  opinions: Answer,
  /** What the customer supplied and what of it may affect the results; 7.8.2.2. */
  customerSupplied: Answer,
})
export type SignerStatements = z.output<typeof SignerStatements>
