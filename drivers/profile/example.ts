/** A number in an answer, where it stands. */
export interface NumberAt {
  readonly text: string
  readonly from: number
}

const NUMBER = /[+-]?(?:\d+(?:[.,]\d+)?|[.,]\d+)(?:[eE][+-]?\d+)?/g

/** The numbers of an answer, in their order. */
export function numbersIn(answer: string): NumberAt[] {
  return [...answer.matchAll(NUMBER)].map((match) => ({ text: match[0], from: match.index }))
}

/**
 * A pattern as strict as one example allows: the same text around the value, the same places after the point, the same form
 * of exponent. Only the sign and the digits before the point are left open.
 */
export function patternOf(answer: string, { text, from }: NumberAt): string {
  const before = literal(answer.slice(0, from))
  const after = literal(answer.slice(from + text.length))
  return `^${before}(?<value>${numberPattern(text)})${after}$`
}

function numberPattern(text: string): string {
  const [, sign = '', , point = '', decimals = '', letter = '', exponentSign = '', exponent = ''] =
    /^([+-]?)(\d*)([.,]?)(\d*)([eE]?)([+-]?)(\d*)$/.exec(text) ?? []
  const signs = sign === '' ? '-?' : '[+-]'
  const fraction = point === '' ? '' : `${point === '.' ? '\\.' : ','}\\d{${decimals.length}}`
  const power = letter === '' ? '' : `${letter}${exponentSign === '' ? '-?' : '[+-]'}\\d{${exponent.length}}`
  return `${signs}\\d+${fraction}${power}`
}

/**
 * A pattern of an identity by one example. Of four parts between commas (IEEE 488.2, 10.14; number from memory) maker and
 * model are fixed and the others may differ; any other text is the model, its serial number unknown.
 */
export function identityPattern(answer: string): string {
  const parts = answer.split(',').map((part) => part.trim())
  if (parts.length !== 4) return `^(?<model>${literal(answer)})$`
  const [maker = '', model = ''] = parts
  return `^(?<maker>${literal(maker)}), *(?<model>${literal(model)}), *(?<serial>[^,]*?), *(?<firmware>[^,]*)$`
}

export const literal = (text: string): string => text.replace(/[.*+?^${}()|[\]\\]/g, '\\$&')
