import { create } from 'xmlbuilder2'
import { documentText } from '../base/markup.ts'
import type { Xml } from './dcc-parts.ts'

/**
 * An XML document. What looks like a reference ('&name;', '&#0;') the writer takes for one, twice: it resolves references
 * in what it is given, and keeps those that are left. So every ampersand is given as a reference to the reference that is to
 * stand in the document. Characters that XML does not have are replaced.
 */
export const xmlDocument = (root: Xml): string =>
  `${create({ version: '1.0', encoding: 'UTF-8' }, asText(root) as object).end({ prettyPrint: true })}\n`

function asText(value: unknown): unknown {
  if (typeof value === 'string')
    return documentText(value).replaceAll('&', '&#38;amp;').replaceAll('\r', '&#38;#13;')
  if (Array.isArray(value)) return value.map(asText)
  if (typeof value !== 'object' || value === null) return value
  return Object.fromEntries(Object.entries(value).map(([key, inner]) => [key, asText(inner)]))
}
