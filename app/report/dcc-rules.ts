import { create } from 'xmlbuilder2'

/**
 * Rules of a Digital Calibration Certificate beyond its schema, as the rule groups of the DCC's Schematron file state
 * them, written anew as checks of our own. Each finding is a sentence; none means the certificate keeps the rules.
 */

interface Node {
  readonly name: string
  readonly attributes: ReadonlyMap<string, string>
  readonly children: readonly Node[]
  readonly parent: Node | null
  readonly text: string
}

type DomNode = {
  nodeType: number
  nodeName: string
  textContent: string | null
  childNodes: Iterable<DomNode>
  attributes?: Iterable<{ name: string; value: string }>
}

const ELEMENT = 1

function toNode(dom: DomNode, parent: Node | null): Node {
  const children: Node[] = []
  const node: Node = {
    name: dom.nodeName,
    attributes: new Map([...(dom.attributes ?? [])].map((a) => [a.name, a.value])),
    children,
    parent,
    text: (dom.textContent ?? '').trim(),
  }
  for (const child of dom.childNodes) if (child.nodeType === ELEMENT) children.push(toNode(child, node))
  return node
}

function* walk(node: Node): Generator<Node> {
  yield node
  for (const child of node.children) yield* walk(child)
}

const named = (node: Node, name: string) => node.children.filter((c) => c.name === name)
const has = (node: Node, name: string) => node.children.some((c) => c.name === name)

function ancestors(node: Node): Node[] {
  const out: Node[] = []
  for (let at = node.parent; at; at = at.parent) out.push(at)
  return out
}

const inside = (node: Node, name: string) => ancestors(node).some((a) => a.name === name)

/** Methods and influence conditions stand at the result, the list or each quantity. */
function placement(all: readonly Node[], what: string, words: string): string[] {
  const found: string[] = []
  const atResult = (node: Node) =>
    ancestors(node).some((a) => a.name === 'dcc:measurementResult' && has(a, what))
  for (const list of all.filter((n) => n.name === 'dcc:list' && !inside(n, 'dcc:metaData'))) {
    const bare = named(list, 'dcc:quantity').filter((q) => !has(q, what))
    if (!has(list, what) && !atResult(list) && bare.length > 0)
      found.push(`A list of quantities states no ${words}.`)
  }
  const single = all.filter(
    (n) =>
      n.name === 'dcc:quantity' && n.parent?.name === 'dcc:data' && n.parent.parent?.name === 'dcc:result',
  )
  for (const quantity of single) {
    if (!has(quantity, what) && !atResult(quantity)) found.push(`A quantity states no ${words}.`)
  }
  return found
}

const FORMS = { language: /^[a-z]{2}$/, region: /^[A-Z]{2}$/ } as const

/** Whether the runtime's own tables (CLDR) have a name for a two-letter code. */
function known(type: keyof typeof FORMS, code: string): boolean {
  return (
    FORMS[type].test(code) && new Intl.DisplayNames(['en'], { type, fallback: 'none' }).of(code) !== undefined
  )
}

function languages(all: readonly Node[]): string[] {
  const used = all.filter((n) => n.name === 'dcc:usedLangCodeISO639_1').map((n) => n.text)
  const found: string[] = []
  if (new Set(used).size !== used.length) found.push('A language is declared twice.')
  for (const node of all) {
    const own = named(node, 'dcc:content').flatMap((c) => c.attributes.get('lang') ?? [])
    if (own.length === 0) continue
    for (const lang of own)
      if (!used.includes(lang)) found.push(`The language ${lang} is used and not declared.`)
    if (new Set(own).size !== own.length) found.push(`${node.name} says the same in one language twice.`)
    if (own.length !== used.length) found.push(`${node.name} does not speak all declared languages.`)
  }
  for (const code of all.filter((n) => /LangCodeISO639_1$/.test(n.name))) {
    if (!known('language', code.text)) found.push(`${code.text} is not a language of ISO 639-1.`)
  }
  for (const code of all.filter((n) => n.name === 'dcc:countryCodeISO3166_1')) {
    if (!known('region', code.text)) found.push(`${code.text} is not a country of ISO 3166-1.`)
  }
  return found
}

function references(all: readonly Node[]): string[] {
  const given = all.flatMap((n) => n.attributes.get('id') ?? [])
  const ids = new Set(given)
  const twice = [...ids].filter((id) => given.filter((other) => other === id).length > 1)
  const wanted = all.flatMap((n) => n.attributes.get('refId')?.split(' ') ?? [])
  const results = all.filter((n) => n.name === 'dcc:measurementResult')
  const items = all.filter((n) => n.name === 'dcc:item').length
  return [
    ...twice.map((id) => `The id ${id} is given twice.`),
    ...wanted.filter((id) => !ids.has(id)).map((id) => `refId ${id} names no id of this certificate.`),
    ...(items > 1
      ? results
          .filter((n) => !n.attributes.has('refId'))
          .map(() => 'A result does not say of which item it is.')
      : []),
  ]
}

/** Names of D-SI's units, those of the SI brochure's tables 2, 4 and 8 without prefixes built in (from memory of the D-SI guide). */
const UNIT_NAMES =
  'metre kilogram gram second ampere kelvin mole candela one radian steradian hertz newton pascal joule watt coulomb volt farad ohm ' +
  'siemens weber tesla henry degreecelsius lumen lux becquerel gray sievert katal minute hour day degree arcminute arcsecond hectare ' +
  'litre tonne dalton electronvolt astronomicalunit neper bel decibel percent ppm'
const PREFIXES =
  'quecto ronto yocto zepto atto femto pico nano micro milli centi deci deca hecto kilo mega giga tera peta exa zetta yotta ronna quetta'
const alternatives = (names: string) => names.split(/\s+/).join('|')
/** One factor of a unit: division, prefix, name, power. */
const UNIT_FACTOR = new RegExp(
  `\\\\(?:per\\\\)?(?:(?:${alternatives(PREFIXES)})\\\\)?(?:${alternatives(UNIT_NAMES)})(?:\\\\tothe\\{-?\\d+(?:\\.\\d+)?\\})?`,
  'gy',
)

/** Whether a text is a unit in the form of D-SI: factors one after another, and a temperature on the Celsius scale alone. */
export function isDsiUnit(text: string): boolean {
  UNIT_FACTOR.lastIndex = 0
  while (UNIT_FACTOR.lastIndex < text.length) if (!UNIT_FACTOR.test(text)) return false
  return text !== '' && (!text.includes('degreecelsius') || text === '\\degreecelsius')
}

function units(all: readonly Node[]): string[] {
  const used = all
    .filter((n) => n.name === 'si:unit' || n.name === 'si:unitXMLList')
    .flatMap((n) => n.text.split(/\s+/))
  return [...new Set(used)]
    .filter((unit) => !unit.startsWith('|') && !isDsiUnit(unit))
    .map((unit) => `${unit} is not a unit in the form of D-SI.`)
}

const numbersOf = (node: Node, name: string): number[] =>
  named(node, name).flatMap((n) => n.text.split(/\s+/).map(Number))

/** Uncertainties in the form of D-SI 2.2.1, with factors and probabilities that can be. */
function uncertainties(all: readonly Node[]): string[] {
  const found: string[] = []
  if (all.some((n) => /^si:(expandedUnc|standardUnc|coverageInterval)(XMLList)?$/.test(n.name)))
    found.push('An uncertainty is in a form that D-SI 2.2.1 calls deprecated.')
  for (const node of all.filter((n) => /^si:expandedMU(XMLList)?$/.test(n.name))) {
    const list = node.name.endsWith('XMLList') ? 'XMLList' : ''
    const sizes = numbersOf(node, `si:valueExpandedMU${list}`)
    const factors = numbersOf(node, `si:coverageFactor${list}`)
    const probabilities = numbersOf(node, `si:coverageProbability${list}`)
    if (sizes.length === 0 || !sizes.every((u) => u > 0))
      found.push('An expanded uncertainty is not above zero.')
    if (factors.length === 0 || !factors.every((k) => k >= 1)) found.push('A coverage factor is below one.')
    if (probabilities.length === 0 || !probabilities.every((p) => p > 0 && p <= 1))
      found.push('A coverage probability does not lie between zero and one.')
  }
  return found
}

/** What a certificate has to state beside its numbers: whether it is traceable, and who stands for it. */
function statements(all: readonly Node[]): string[] {
  const found: string[] = []
  const texts = (name: string) => all.filter((n) => n.name === name).map((n) => n.text)
  if (texts('dcc:traceable').length === 0) found.push('No statement says whether the results are traceable.')
  const signers = texts('dcc:mainSigner').filter((t) => t === 'true').length
  if (all.some((n) => n.name === 'dcc:issueDate') && signers !== 1)
    found.push('An issued certificate names one person who signs it.')
  for (const statement of all.filter((n) => n.name === 'dcc:statement')) {
    if (statement.children.length === 0) found.push('A statement says nothing.')
  }
  return found
}

const SPACED = /^(\S+\s)*\S+$/

function lists(all: readonly Node[]): string[] {
  const found: string[] = []
  for (const node of all) {
    if (/XMLList$/.test(node.name) && node.children.length === 0 && !SPACED.test(node.text)) {
      found.push(`${node.name} is not a list with one blank between its entries.`)
    }
    for (const key of ['refType', 'refId']) {
      const value = node.attributes.get(key)
      if (value !== undefined && !SPACED.test(value))
        found.push(`${key} "${value}" is not spaced by single blanks.`)
    }
    if (node.name !== 'si:realListXMLList') continue
    const count = (name: string) =>
      [...walk(node)].find((n) => n.name === name)?.text.split(/\s+/).length ?? 0
    const values = count('si:valueXMLList')
    for (const name of [
      'si:unitXMLList',
      'si:valueExpandedMUXMLList',
      'si:uncertaintyXMLList',
      'si:coverageFactorXMLList',
    ]) {
      const own = count(name)
      if (own > 1 && own !== values) found.push(`${name} has ${own} entries for ${values} values.`)
    }
  }
  for (const unit of all.filter((n) => n.name === 'si:unit')) {
    if (/\s/.test(unit.text)) found.push(`The unit ${unit.text} has a blank in it.`)
  }
  return found
}

function nonSi(all: readonly Node[]): string[] {
  const declared = new Set(all.filter((n) => n.name === 'dcc:nonSIUnit').map((n) => n.text))
  const found: string[] = []
  for (const unit of all.filter((n) => n.name === 'si:unit' || n.name === 'si:unitXMLList')) {
    if (unit.text.startsWith('|') && !declared.has(unit.text))
      found.push(`The unit ${unit.text} is not declared.`)
  }
  for (const node of all) {
    const [unit, definition] = [
      named(node, 'dcc:nonSIUnit').length,
      named(node, 'dcc:nonSIDefinition').length,
    ]
    if (unit !== definition) found.push('A unit outside the SI and its definition belong together.')
  }
  return found
}

/** What a certificate's text does against the rules beyond the schema; empty where it keeps them all. */
export function dccFindings(xml: string): string[] {
  const document = create(xml).node as unknown as DomNode
  const rootDom = [...document.childNodes].find((n) => n.nodeType === ELEMENT)
  if (!rootDom) return ['There is no element in it.']
  const root = toNode(rootDom, null)
  const all = [...walk(root)]
  const found: string[] = []
  if (root.attributes.get('schemaVersion') !== '3.3.0') found.push('It is not of schema version 3.3.0.')
  found.push(...placement(all, 'dcc:usedMethods', 'method'))
  found.push(...placement(all, 'dcc:influenceConditions', 'influence condition'))
  found.push(...languages(all), ...references(all), ...lists(all), ...nonSi(all))
  found.push(...units(all), ...uncertainties(all), ...statements(all))
  const dateOf = (name: string) => all.find((n) => n.name === name)?.text ?? ''
  if (dateOf('dcc:endPerformanceDate') < dateOf('dcc:beginPerformanceDate')) {
    found.push('The calibration ends before it begins.')
  }
  for (const release of all.filter((n) => n.name === 'dcc:release')) {
    if (!/^[a-zA-Z]( )?(\d{1,3}\.){0,3}\d{1,3}$/.test(release.text)) {
      found.push(`The release ${release.text} is not a letter and a version, such as v1.2.3.`)
    }
  }
  for (const quantity of all.filter((n) => n.name === 'dcc:quantity' && has(n, 'dcc:relativeUncertainty'))) {
    const own = [...walk(quantity)]
    if (!own.some((n) => /expanded(MU|Unc)/.test(n.name))) {
      found.push('A relative uncertainty stands without the expanded one.')
    }
  }
  return found
}
