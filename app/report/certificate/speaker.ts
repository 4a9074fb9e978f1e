import { IntlMessageFormat } from 'intl-messageformat'
import type { LANGUAGES } from '../../records/certificate.ts'
import type { Block } from '../blocks.ts'
import { de } from './messages/de.ts'
import { en, type MessageKey, type Messages } from './messages/en.ts'
import { es } from './messages/es.ts'
import { fr } from './messages/fr.ts'

export type { MessageKey } from './messages/en.ts'
export type Language = (typeof LANGUAGES)[number]
export type MessageArguments = Readonly<Record<string, string | number>>

/** Languages and their texts. */
export type Catalog = Readonly<Record<Language, Messages>>
export const CATALOG: Catalog = { en, de, fr, es }

/** One text in one language. */
export interface Told {
  readonly lang: Language
  readonly text: string
}

/** Texts of a certificate in its languages, one or two side by side. */
export interface Speaker {
  readonly languages: readonly Language[]
  /** In each language, in their order. */
  told(key: MessageKey, values?: MessageArguments): Told[]
  /** On one line: both languages with a stroke between, or one where they say the same. */
  line(key: MessageKey, values?: MessageArguments): string
  /** A paragraph; two languages stand beside one another. */
  text(key: MessageKey, values?: MessageArguments, style?: 'plain' | 'small' | 'statement'): Block
  /** Name of a country in the languages of the certificate; none where the code names none. */
  country(code: string): Told[]
}

/** Codes that ISO 3166-1 leaves to users name no country. */
const USER_ASSIGNED = /^(AA|Q[M-Z]|X[A-Z]|ZZ)$/

/** Texts that differ, each once, in one line. */
export const joined = (told: readonly Told[]): string =>
  [...new Set(told.map(({ text }) => text))].join(' / ')

/**
 * Speaks the languages named, the first leading. Messages are in ICU form; values come in as text that the program's own
 * formatter wrote, so that a number has the same digits in every language.
 */
export function speaker(languages: readonly Language[], catalog: Catalog = CATALOG): Speaker {
  const made = new Map<string, IntlMessageFormat>()
  const say = (lang: Language, key: MessageKey, values: MessageArguments): string => {
    const id = `${lang} ${key}`
    const known = made.get(id) ?? new IntlMessageFormat(catalog[lang][key], lang)
    made.set(id, known)
    return String(known.format(values))
  }
  const told = (key: MessageKey, values: MessageArguments = {}) =>
    languages.map((lang) => ({ lang, text: say(lang, key, values) }))
  return {
    languages,
    told,
    line: (key, values) => joined(told(key, values)),
    text(key, values, style = 'plain') {
      const texts = told(key, values).map(({ text }) => text)
      return texts.length === 1
        ? { kind: 'text', text: texts[0]!, style }
        : { kind: 'side-by-side', texts, style }
    },
    country(code) {
      if (!/^[A-Z]{2}$/.test(code) || USER_ASSIGNED.test(code)) return []
      return languages.flatMap((lang) => {
        const text = new Intl.DisplayNames([lang], { type: 'region', fallback: 'none' }).of(code)
        return text === undefined ? [] : [{ lang, text }]
      })
    },
  }
}
