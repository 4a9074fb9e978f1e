/** Forms of a word by the plural categories of its language (CLDR, as Intl.PluralRules has them); `other` always is one. */
export type Forms = Partial<Record<Intl.LDMLPluralRule, string>> & { readonly other: string }

const rules = new Map<string, Intl.PluralRules>()

function rulesOf(locale: string): Intl.PluralRules {
  const known = rules.get(locale)
  if (known) return known
  const made = new Intl.PluralRules(locale)
  rules.set(locale, made)
  return made
}

/** The form that goes with a number in a language: 'point' with 1, 'points' with 0 and 5 in English. */
export const formOf = (n: number, forms: Forms, locale = 'en'): string =>
  forms[rulesOf(locale).select(n)] ?? forms.other

const THIN = '\u2009'
const grouped = (n: number): string =>
  Math.abs(n) < 10_000 ? String(n) : String(n).replace(/\B(?=(\d{3})+$)/g, THIN)

/** A number with its word, in English: '1 point', '5 points', '12 000 readings'. */
export const counted = (n: number, one: string, other = `${one}s`): string =>
  `${grouped(n)} ${formOf(n, { one, other })}`
