/**
 * Program headers of SCPI: `SOURce:CURRent[:LEVel]`, capitals the short form, brackets what may be left out, with or
 * without a leading colon, in either case.
 *
 * Source  SCPI-99 volume 1, 6 (headers, short and long form), from memory; IEEE Std 488.2-1992, 7.6 and appendix A
 *         (compound headers), from memory.
 */
export function headerPattern(header: string): RegExp {
  const source = header
    .replace(/\?$/, '')
    .split(/(\[:?[^\]]*\]|:)/)
    .map((part) => {
      const optional = /^\[(:?)([^\]]*)\]$/.exec(part)
      if (optional !== null) return `(?:${optional[1]}${mnemonicPattern(optional[2] ?? '')})?`
      return mnemonicPattern(part)
    })
    .join('')
  return new RegExp(`^:?${source}${header.endsWith('?') ? '\\?' : ''}$`, 'i')
}

function mnemonicPattern(mnemonic: string): string {
  const [, short = '', rest = ''] = /^([^a-z]*)(.*)$/.exec(mnemonic) ?? []
  const literal = short.replace(/[.*+?^${}()|\\]/g, '\\$&')
  return rest === '' ? literal : `${literal}(?:${rest})?`
}

/**
 * A line with its headers in the short form, as it is sent: `SOUR:CURR {current}` of `SOURce:CURRent[:LEVel] {current}`.
 * What stands in braces or quotes is left alone.
 */
export function shortForm(line: string): string {
  return line
    .split(/(\{[^}]*\}|"[^"]*"|'[^']*')/)
    .map((part, i) => (i % 2 === 1 ? part : part.replace(/\[[^\]]*\]/g, '').replace(/[a-z]+/g, '')))
    .join('')
}

/** One command or query of a typed line, its header made absolute. */
export interface MessageUnit {
  readonly header: string
  readonly parameters: string
}

/**
 * Splits a program message at its semicolons (not those within quotes) and resolves each header that continues at the
 * level of the one before.
 */
export function splitMessage(line: string): MessageUnit[] {
  const units: MessageUnit[] = []
  let level = ''
  for (const part of splitOutsideQuotes(line, ';')) {
    const text = part.trim()
    if (text === '') continue
    const [, written = '', parameters = ''] = /^(\S+)\s*(.*)$/s.exec(text) ?? []
    if (written.startsWith('*')) {
      units.push({ header: written, parameters })
      continue
    }
    const header = written.startsWith(':') ? written.slice(1) : level + written
    level = header.slice(0, header.lastIndexOf(':') + 1)
    units.push({ header, parameters })
  }
  return units
}

/** Splits at a separator wherever it stands outside quotes. */
function splitOutsideQuotes(text: string, separator: string): string[] {
  const parts: string[] = []
  let quote = ''
  let part = ''
  for (const character of text) {
    if (quote !== '') {
      if (character === quote) quote = ''
    } else if (character === '"' || character === "'") quote = character
    if (character === separator && quote === '') {
      parts.push(part)
      part = ''
    } else part += character
  }
  parts.push(part)
  return parts
}
