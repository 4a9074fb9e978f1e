import { at } from '../../app/base/lists.ts'
import { convertBack } from '../language/linear.ts'
import { printNumber } from '../language/numbers.ts'
import type { Command, Inputs, Parameter } from './schema.ts'

export type Values = Readonly<Record<string, number | boolean | string>>

/** Why a value cannot be sent; the sentence is for a person. */
export class TemplateError extends Error {
  constructor(sentence: string) {
    super(sentence)
    this.name = 'TemplateError'
  }
}

/** The instrument's own number or name of input 1, 2, 3 ... Throws TemplateError outside its inputs. */
export function printInput(input: number, inputs: Inputs): string {
  if (!Number.isInteger(input) || input < 1 || input > inputs.count) {
    throw new TemplateError(`input ${input} does not exist: this instrument has 1 to ${inputs.count}`)
  }
  const named = inputs.names?.[input - 1]
  if (named !== undefined) return named
  const index = input - 1
  const perSlot = inputs.perSlot ?? inputs.count
  const number = inputs.first + Math.floor(index / perSlot) * (inputs.slotStep ?? 0) + (index % perSlot)
  return String(number).padStart(inputs.width ?? 0, '0')
}

/** Checks a value against the limits of its parameter. Nothing is clipped: outside is a TemplateError. */
export function checkLimits(name: string, value: number, rule: Parameter): void {
  const unit = rule.unit === undefined ? '' : ` ${rule.unit}`
  if (!Number.isFinite(value)) throw new TemplateError(`${name} is not a number`)
  if (rule.low !== undefined && value < rule.low) {
    throw new TemplateError(`${name} ${value}${unit} is below the limit of ${rule.low}${unit}`)
  }
  if (rule.high !== undefined && value > rule.high) {
    throw new TemplateError(`${name} ${value}${unit} is above the limit of ${rule.high}${unit}`)
  }
}

/** Prints one parameter. Throws TemplateError when it is outside its limits or has no word. */
export function printParameter(name: string, value: number | boolean | string, rule: Parameter): string {
  if (rule.words !== undefined) {
    const key = typeof value === 'boolean' ? (value ? 'on' : 'off') : String(value)
    const word = Object.hasOwn(rule.words, key) ? rule.words[key] : undefined
    if (word === undefined) {
      throw new TemplateError(`${name} cannot be ${key}: it may be ${Object.keys(rule.words).join(', ')}`)
    }
    return word
  }
  const number = Number(value)
  checkLimits(name, number, rule)
  return printNumber(rule.linear === undefined ? number : convertBack(number, rule.linear), rule)
}

const BRACED = /\{([a-z][a-z0-9-]*)\}/

/** Makes a function that fills a line's braces in; a line without braces is made once. */
export function compileTemplate(
  line: string,
  command: Pick<Command, 'parameters'>,
  inputs: Inputs | undefined,
): (values: Values) => string {
  const parts = line.split(BRACED)
  if (parts.length === 1) return () => line
  return (values) => {
    let text = parts[0] ?? ''
    for (let i = 1; i < parts.length; i += 2) {
      const name = at(parts, i)
      const value = values[name]
      if (value === undefined) throw new TemplateError(`${name} is missing`)
      const rule = command.parameters[name]
      text +=
        name === 'input' && inputs !== undefined
          ? printInput(Number(value), inputs)
          : printParameter(name, value, rule!)
      text += parts[i + 1] ?? ''
    }
    return text
  }
}
