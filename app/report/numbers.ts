import { needed } from '../base/lists.ts'
import { coverageText, plainUncertainty, roundedUncertainty, roundedValue } from '../base/rounding.ts'
import type { Cell, ReportNumber } from './blocks.ts'

/** A residual or a difference is rounded as if its uncertainty were this, mK: one place more than an uncertainty has. */
export const RESIDUAL_LIKE_MK = 0.1

interface Stated {
  readonly name: string
  readonly value: number
  readonly unit: string
  /** Expanded uncertainty and its k; both left out for numbers that have none of their own. */
  readonly expanded?: number
  readonly k?: number
  /** Decides the rounding where the number itself states no uncertainty. */
  readonly roundLike?: number
  /** Places further than the uncertainty, for coefficients that are used together. */
  readonly extraPlaces?: number
}

/** Collects the report's numbers, each once, under its key. */
export class NumberBook {
  readonly entries: Record<string, ReportNumber> = {}

  /** Enters a number and gives back its cell. */
  add(key: string, stated: Stated): Cell {
    const { name, value, unit, expanded, k } = stated
    const roundBy = expanded ?? stated.roundLike ?? 0
    const text = roundedValue(value, roundBy, stated.extraPlaces)
    // A value without a power of ten has an uncertainty without one: 25.481283 ± 0.000020.
    const round = text.includes('e') ? roundedUncertainty : plainUncertainty
    this.entries[key] = {
      name,
      value: text,
      unit,
      uncertainty: expanded === undefined ? null : round(expanded),
      k: k === undefined ? null : coverageText(k),
      exact: value,
    }
    return { key, show: 'value' }
  }

  /** Enters a standard or expanded uncertainty, or another size of which two digits (or as many as said) mean anything. */
  size(key: string, name: string, value: number, unit: string, digits?: number): Cell {
    this.entries[key] = {
      name,
      value: plainUncertainty(value, digits),
      unit,
      uncertainty: null,
      k: null,
      exact: value,
    }
    return { key, show: 'value' }
  }
}

/** A number that the code has entered before. */
export const numberAt = (numbers: Readonly<Record<string, ReportNumber>>, key: string): ReportNumber =>
  needed(numbers[key], `number ${key}`)

export const uncertaintyOf = (key: string): Cell => ({ key, show: 'uncertainty' })
export const coverageOf = (key: string): Cell => ({ key, show: 'k' })

/** The text of a cell with the laboratory's decimal sign left to the printer. */
export function cellText(cell: Cell, numbers: Readonly<Record<string, ReportNumber>>): string {
  if (typeof cell === 'string') return cell
  const entry = numbers[cell.key]
  if (!entry) return ''
  if (cell.show === 'value') return entry.value
  return (cell.show === 'uncertainty' ? entry.uncertainty : entry.k) ?? ''
}
