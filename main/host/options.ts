import { InvalidArgumentError } from 'commander'

/** A whole number of the command line within bounds. */
export function wholeNumber(low: number, high: number): (text: string) => number {
  return (text) => {
    const value = Number(text)
    if (text.trim() === '' || !Number.isInteger(value) || value < low || value > high) {
      throw new InvalidArgumentError(`give a whole number from ${low} to ${high}, not "${text}".`)
    }
    return value
  }
}

/** A speed: above 0; 'max' for as fast as the work goes. */
export function speed(text: string): number {
  if (text === 'max') return Number.POSITIVE_INFINITY
  const value = Number(text)
  if (text.trim() === '' || !(value > 0) || !Number.isFinite(value)) {
    throw new InvalidArgumentError(`give a number above 0, or "max", not "${text}".`)
  }
  return value
}

export const port = wholeNumber(0, 65_535)

/** What was asked for cannot be done as it was asked: the command says so and ends with status 2. */
export class WrongOption extends Error {}
