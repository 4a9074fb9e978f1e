import { SaxesParser } from 'saxes'
import { CodedError } from '../base/coded-error.ts'

/** Why an XML text is not taken in; the words say what to do. */
export class DccInError extends CodedError<'too-large' | 'hostile' | 'not-xml' | 'not-dcc'> {}

/** An element of a certificate, with the line it stands on. */
export interface XmlElement {
  readonly space: string
  readonly name: string
  readonly attributes: Readonly<Record<string, string>>
  readonly children: readonly XmlElement[]
  readonly text: string
  readonly line: number
}

/** A certificate with its pictures and its PDF in it has room; nothing else of a laboratory's is as large. */
const MOST_CHARACTERS = 30_000_000
const MOST_DEPTH = 60
const MOST_ELEMENTS = 200_000

interface Open {
  space: string
  name: string
  attributes: Record<string, string>
  children: XmlElement[]
  text: string
  line: number
}

/**
 * Reads an XML text into a tree, without doing anything that the text could ask for: a document type, entities of its own, a
 * depth or a size beyond what a certificate has are refused before anything is made of them.
 *
 * Throws DccInError 'too-large' | 'hostile' | 'not-xml'.
 */
export function readXml(text: string): XmlElement {
  if (text.length > MOST_CHARACTERS) {
    throw new DccInError(
      'too-large',
      'This file is larger than 30 MB and no certificate. Ask its issuer for another copy.',
    )
  }
  const parser = new SaxesParser({ xmlns: true, position: true })
  const stack: Open[] = []
  let root: XmlElement | undefined
  let count = 0
  const refuse = (words: string): never => {
    throw new DccInError(
      'hostile',
      `${words} A certificate has no use for that: do not trust the file, and ask its issuer for another.`,
    )
  }
  parser.on('error', (fault) => {
    throw new DccInError(
      'not-xml',
      `This file is no well-formed XML: ${fault.message}. Ask its issuer for another copy.`,
    )
  })
  parser.on('doctype', () =>
    refuse('This XML brings a document type, with which entities and other files can be drawn in.'),
  )
  parser.on('processinginstruction', ({ target }) => {
    if (target.toLowerCase() === 'xml-stylesheet') refuse('This XML asks for a style sheet to be run.')
  })
  parser.on('opentag', (tag) => {
    if (++count > MOST_ELEMENTS) refuse(`This XML has more than ${MOST_ELEMENTS} elements.`)
    if (stack.length >= MOST_DEPTH) refuse(`This XML is nested more than ${MOST_DEPTH} deep.`)
    const attributes = Object.fromEntries(Object.values(tag.attributes).map((a) => [a.local, a.value]))
    stack.push({
      space: tag.uri,
      name: tag.local,
      attributes,
      children: [],
      text: '',
      line: parser.line,
    })
  })
  const take = (piece: string) => {
    const open = stack.at(-1)
    if (open) open.text += piece
  }
  parser.on('text', take)
  parser.on('cdata', take)
  parser.on('closetag', () => {
    const done = stack.pop()!
    const parent = stack.at(-1)
    if (parent) parent.children.push(done)
    else root = done
  })
  parser.write(text).close()
  if (!root) throw new DccInError('not-xml', 'This file holds no XML. Choose the certificate’s XML file.')
  return root
}

/** The children of a name, of whatever space. */
export const named = (element: XmlElement, name: string): readonly XmlElement[] =>
  element.children.filter((child) => child.name === name)

/** The first element found by going down through names; undefined where there is none. */
export function down(element: XmlElement, ...names: readonly string[]): XmlElement | undefined {
  let at: XmlElement | undefined = element
  for (const name of names) at = at && named(at, name)[0]
  return at
}

export const textAt = (element: XmlElement, ...names: readonly string[]): string =>
  (down(element, ...names)?.text ?? '').trim()

/** Every element below, itself included, in the order of the text. */
export function* walk(element: XmlElement): Generator<XmlElement> {
  yield element
  for (const child of element.children) yield* walk(child)
}
