import { at, last } from '../../app/base/lists.ts'
import { SUBRANGES } from '../../app/thermometry/its90-subranges.ts'
import { readDecimalText, readNumber } from '../text/numbers.ts'

/** A certificate's text, taken apart: what was found stands beside the line it was found in, for a person to look at. */

export interface Found {
  /** Field of the form: 'texts.certificate', 'coefficients.a', 'uncertainty.points'. */
  readonly field: string
  readonly label: string
  readonly text: string
  /** Lines that it was found in. */
  readonly from: string
}

export interface Pasted {
  readonly found: readonly Found[]
  /** Relation that the coefficients are of; undefined: none was found. */
  readonly kind: 'its90' | 'callendar-van-dusen' | undefined
  /** Serial number that the text names. */
  readonly serial: string | undefined
  /** What two lines say differently, or what cannot be read without asking. */
  readonly doubts: readonly string[]
}

const NUMBER = String.raw`([+\-\u2212]?\d+(?:[.,]\d+)?(?:\s*(?:[eE]|[x×·*]\s*10\s*\^?)\s*[+\-\u2212]?\s*\d{1,3}|\s*[x×·]\s*10[⁻⁺]?[⁰¹²³⁴-⁹]+)?)`
const SUPERSCRIPTS = '⁰¹²³⁴⁵⁶⁷⁸⁹'

/** '−1.2 × 10⁻⁴' as '-1.2e-4'. */
function plain(text: string): string | undefined {
  const raised = text.replace(/[⁻⁺⁰¹²³⁴-⁹]/g, (sign) =>
    sign === '⁻' ? '-' : sign === '⁺' ? '+' : String(SUPERSCRIPTS.indexOf(sign)),
  )
  const power = raised
    .replaceAll('\u2212', '-')
    .replace(/\s*[x×·*]\s*10\s*\^?\s*/, 'e')
    .replaceAll(/\s+/g, '')
  return readDecimalText(power)
}

interface Rule {
  readonly field: string
  readonly label: string
  readonly pattern: RegExp
  readonly kind?: Pasted['kind']
}

const coefficient = (name: string, kind: Rule['kind']): Rule => ({
  field: `coefficients.${kind === 'its90' ? `coefficients.${name}` : name.toLowerCase()}`,
  label: name,
  pattern: new RegExp(String.raw`^\s*${name}(?:\s*/[^=:]*)?\s*[=:\s]\s*${NUMBER}`),
  kind,
})

const RULES: readonly Rule[] = [
  {
    field: 'coefficients.rWtp',
    label: 'R(0.01 °C)',
    pattern: new RegExp(
      String.raw`^\s*(?:R\s*\(?\s*(?:0[.,]01\s*°?\s*C|WTP|TPW|273[.,]16\s*K)\s*\)?|R_?(?:WTP|TPW))(?:\s*/\s*\S+)?\s*[=:\s]\s*${NUMBER}`,
      'i',
    ),
    kind: 'its90',
  },
  {
    field: 'coefficients.r0',
    label: 'R0',
    pattern: new RegExp(
      String.raw`^\s*(?:R\s*\(\s*0\s*(?:°?\s*C)?\s*\)|R_?[0₀])(?:\s*/\s*\S+)?\s*[=:\s]\s*${NUMBER}`,
      'i',
    ),
    kind: 'callendar-van-dusen',
  },
  ...['A', 'B', 'C'].map((name) => coefficient(name, 'callendar-van-dusen')),
  ...['a', 'b', 'c', 'd', 'c1', 'c2', 'c3', 'c4', 'c5'].map((name) => coefficient(name, 'its90')),
  {
    field: 'uncertainty.k',
    label: 'Coverage factor k',
    pattern: new RegExp(String.raw`^\s*(?:[Cc]overage factor(?:\s*k)?|k)\s*[=:]?\s*${NUMBER}`),
  },
]

const CERTIFICATE = /\b(?:certificate|calibration mark)\s*(?:no\.?|number|nr\.?)?\s*[:#]\s*(\S.*?)\s*$/i
const SERIAL = /\bserial\s*(?:no\.?|number)?\s*[:#]?\s*(\S+)/i
const LABORATORY = /^\s*(?:calibration )?laboratory\s*:\s*(\S.*?)\s*$/i
const DAY = /(\d{4})-(\d{2})-(\d{2})|(\d{1,2})\.(\d{1,2})\.(\d{4})/
const SLASHED = /\d{1,2}\/\d{1,2}\/\d{4}/
const CALIBRATED = /\b(?:date of calibration|calibrated|calibration date|date)\b/i
const DUE = /\b(?:due|recalibration|next calibration)\b/i

function dayOf(line: string): string | undefined {
  const [, y, m, d, d2 = '', m2 = '', y2] = DAY.exec(line) ?? []
  if (y !== undefined) return `${y}-${m}-${d}`
  return y2 === undefined ? undefined : `${y2}-${m2.padStart(2, '0')}-${d2.padStart(2, '0')}`
}

/** Rows of a table that has the uncertainty in its last column, in mK; the heading says its unit. */
function tableOf(lines: readonly string[]): { points: string; from: string } | undefined {
  const head = lines.findIndex((line) => /\bU\b|uncertainty/i.test(line) && /\b(?:mK|K|°C)\b/.test(line))
  if (head < 0) return undefined
  const scale = /mK/.test(at(lines, head)) ? 1 : 1000
  const rows: string[] = []
  for (const line of lines.slice(head + 1)) {
    const texts = line
      .trim()
      .split(/[\t;|]+|\s+/)
      .filter(Boolean)
    const cells = texts.flatMap((text) => readNumber(text) ?? [])
    if (texts.length < 2 || cells.length < texts.length) {
      if (rows.length > 0) break
      continue
    }
    rows.push(`${cells[0]} ${Number((last(cells) * scale).toPrecision(6))}`)
  }
  return rows.length === 0
    ? undefined
    : { points: rows.join('\n'), from: `${at(lines, head).trim()} and ${rows.length} rows` }
}

/** Takes a certificate's text or table apart. What it does not understand it leaves out: nothing is guessed. */
export function takeApart(text: string): Pasted {
  const lines = text.split(/\r?\n/).filter((line) => line.trim() !== '')
  const found = new Map<string, Found>()
  const doubts: string[] = []
  const kinds = new Set<Pasted['kind']>()
  const put = (field: string, label: string, value: string, line: string) => {
    const before = found.get(field)
    if (before && before.text !== value)
      doubts.push(`${label} stands in two lines: "${before.from}" and "${line.trim()}".`)
    else found.set(field, { field, label, text: value, from: line.trim() })
  }
  let serial: string | undefined
  for (const line of lines) {
    for (const { field, label, pattern, kind } of RULES) {
      const value = plain(pattern.exec(line)?.[1] ?? '')
      if (value === undefined) continue
      put(field, label, value, line)
      if (kind) kinds.add(kind)
    }
    const certificate = CERTIFICATE.exec(line)?.[1]
    if (certificate) put('texts.certificate', 'Certificate', certificate, line)
    const laboratory = LABORATORY.exec(line)?.[1]
    if (laboratory) put('texts.laboratory', 'Laboratory', laboratory, line)
    serial ??= SERIAL.exec(line)?.[1]
    const day = dayOf(line)
    if (day && DUE.test(line)) put('texts.due', 'Recalibration due', day, line)
    else if (day && CALIBRATED.test(line)) put('texts.date', 'Date', day, line)
    else if (SLASHED.test(line) && (DUE.test(line) || CALIBRATED.test(line)))
      doubts.push(`"${line.trim()}" may be day before month or month before day: type it.`)
    const section = /\b3\.3\.[123](?:\.\d)?\b/.exec(line)?.[0]
    if (section && SUBRANGES.some((range) => range.section === section))
      put('coefficients.subrange', 'Subrange', section, line)
  }
  const table = tableOf(lines)
  if (table) put('uncertainty.points', 'Expanded uncertainty', table.points, table.from)
  if (kinds.size > 1)
    doubts.push('There are coefficients of ITS-90 and of Callendar-Van Dusen: choose the relation.')
  const [kind] = kinds
  return { found: [...found.values()], kind: kinds.size === 1 ? kind : undefined, serial, doubts }
}
