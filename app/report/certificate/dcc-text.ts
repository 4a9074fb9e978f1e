import { filled, type Xml } from '../dcc-parts.ts'
import type { MessageArguments, MessageKey, Speaker, Told } from './speaker.ts'

/** Texts of a certificate as a DCC holds them: in every declared language, or without one where no language is meant. */

export const contents = (told: readonly Told[]): Xml => ({
  'dcc:content': told.map(({ lang, text }) => ({ '@lang': lang, '#': filled(text) })),
})

/** A name or number that is the same in every language. */
export const plainContent = (text: string): Xml => ({ 'dcc:content': filled(text) })

export const said = (say: Speaker, key: MessageKey, values?: MessageArguments): Xml =>
  contents(say.told(key, values))

export const named = (say: Speaker, key: MessageKey, values?: MessageArguments): Xml => ({
  'dcc:name': said(say, key, values),
})

export const plainName = (text: string): Xml => ({ 'dcc:name': plainContent(text) })
