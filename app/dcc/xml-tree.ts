import { SaxesParser } from 'saxes'
import { CodedError } from '../base/coded-error.ts'
import { needed } from '../base/lists.ts'
import { type Said, said } from '../messages/said.ts'

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
    throw new DccInError('too-large', said('certificate-file-too-large', {}))
  }
  const parser = new SaxesParser({ xmlns: true, position: true })
  const stack: Open[] = []
  let root: XmlElement | undefined
  let count = 0
  const refuse = (what: Said): never => {
    throw new DccInError('hostile', said('certificate-file-hostile', { what }))
  }
  parser.on('error', (fault) => {
    throw new DccInError('not-xml', said('xml-not-well-formed', { why: fault.message }))
  })
  parser.on('doctype', () => refuse(said('xml-document-type', {})))
  parser.on('processinginstruction', ({ target }) => {
    if (target.toLowerCase() === 'xml-stylesheet') refuse(said('xml-style-sheet', {}))
  })
  parser.on('opentag', (tag) => {
    if (++count > MOST_ELEMENTS) refuse(said('xml-too-many-elements', { most: MOST_ELEMENTS }))
    if (stack.length >= MOST_DEPTH) refuse(said('xml-too-deep', { most: MOST_DEPTH }))
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
    const done = needed(stack.pop(), 'open element')
    const parent = stack.at(-1)
    if (parent) parent.children.push(done)
    else root = done
  })
  parser.write(text).close()
  if (!root) throw new DccInError('not-xml', said('no-xml', {}))
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
