import { IntlMessageFormat } from 'intl-messageformat'
import { first } from '../../base/lists.ts'
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

type ParagraphStyle = 'plain' | 'small' | 'statement'
/** A text in one language. */
export type Tell = (key: MessageKey, values?: MessageArguments) => string

/** Texts of a certificate in its languages, one or two side by side. */
export interface Speaker {
  readonly languages: readonly Language[]
  /** In each language, in their order. */
  told(key: MessageKey, values?: MessageArguments): Told[]
  /** A text put together in each language, in their order. */
  inEach(made: (tell: Tell) => string): Told[]
  /** On one line: both languages with a stroke between, or one where they say the same. */
  line(key: MessageKey, values?: MessageArguments): string
  /** A paragraph; two languages stand beside one another. */
  text(key: MessageKey, values?: MessageArguments, style?: ParagraphStyle): Block
  /** A paragraph put together in each language of its own texts. */
  paragraph(made: (tell: Tell) => string, style?: ParagraphStyle): Block
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
  const inEach = (made: (tell: Tell) => string): Told[] =>
    languages.map((lang) => ({ lang, text: made((key, values = {}) => say(lang, key, values)) }))
  const told = (key: MessageKey, values?: MessageArguments) => inEach((tell) => tell(key, values))
  const paragraph = (made: (tell: Tell) => string, style: ParagraphStyle = 'plain'): Block => {
    const texts = inEach(made).map(({ text }) => text)
    return texts.length === 1
      ? { kind: 'text', text: first(texts), style }
      : { kind: 'side-by-side', texts, style }
  }
  return {
    languages,
    told,
    line: (key, values) => joined(told(key, values)),
    inEach,
    paragraph,
    text: (key, values, style) => paragraph((tell) => tell(key, values), style),
    country(code) {
      if (!/^[A-Z]{2}$/.test(code) || USER_ASSIGNED.test(code)) return []
      return languages.flatMap((lang) => {
        const text = new Intl.DisplayNames([lang], { type: 'region', fallback: 'none' }).of(code)
        return text === undefined ? [] : [{ lang, text }]
      })
    },
  }
}
