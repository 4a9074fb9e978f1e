/** Changes that were looked at one by one and change nothing that is told: they are not drawn. */

interface Same {
  readonly file: string
  readonly what: string
  /** The text of the line, so that another line is judged anew. */
  readonly line: string
  readonly why: string
}

export const SAME: readonly Same[] = [
  {
    file: 'app/thermometry/its90-calibration.ts',
    what: '< to <=',
    line: 'for (let k = 0; k < 20; k++) w = wr + deviationAt(w)',
    why: 'each step adds two digits or more: from the tenth on the ratio of a real thermometer stands still, and what is told of it has eight places',
  },
  {
    file: 'app/thermometry/its90-calibration.ts',
    what: '20 to 22',
    line: 'for (let k = 0; k < 20; k++) w = wr + deviationAt(w)',
    why: 'each step adds two digits or more: from the tenth on the ratio of a real thermometer stands still, and what is told of it has eight places',
  },
  {
    file: 'app/live/rolling-sums.ts',
    what: '0 to 1',
    line: '#head = 0',
    why: 'the first look begins the window afresh and sets it before it is read',
  },
  {
    file: 'app/live/rolling-sums.ts',
    what: '0 to 1',
    line: '#zeroS = 0',
    why: 'the first look begins the window afresh and sets it before it is read',
  },
  {
    file: 'app/live/rolling-sums.ts',
    what: '0 to 1',
    line: '#removed = 0',
    why: 'the first look begins the window afresh and sets it before it is read',
  },
  {
    file: 'app/statistics/polynomial.ts',
    what: '* to /',
    line: 'if (x.length * p * p > PRECISE_LIMIT) {',
    why: 'only from which size on a fit goes the quicker of two ways, whose coefficients agree to the digits that are told',
  },
  {
    file: 'app/statistics/polynomial.ts',
    what: '> to >=',
    line: 'if (x.length * p * p > PRECISE_LIMIT) {',
    why: 'only from which size on a fit goes the quicker of two ways, whose coefficients agree to the digits that are told',
  },
  {
    file: 'app/thermometry/polynomial.ts',
    what: '2 to 2.2',
    line: 'const middle = a + (b - a) / 2',
    why: 'only where in the bracket it is looked next: the bracket shrinks to the same root',
  },
  {
    file: 'drivers/language/numbers.ts',
    what: '0 to 1',
    line: "return withComma(sign + whole.padStart(format.width ?? 0, '0') + rest, format.comma)",
    why: 'what stands before the point has one digit at least',
  },
  {
    file: 'drivers/language/binary.ts',
    what: '7 to 7.700000000000001',
    line: 'for (let digits = 7; digits < 9; digits++) {',
    why: 'toPrecision takes the whole part',
  },
  {
    file: 'app/buses/usbtmc.ts',
    what: '3 to 3.3000000000000003',
    line: 'const bytes = new Uint8Array((HEADER_BYTES + data.length + 3) & ~3)',
    why: 'the operators of bits take the whole part',
  },
  {
    file: 'drivers/language/blocks.ts',
    what: '2 to 2.2',
    line: 'const bytes = reply.slice(2 + digits)',
    why: 'slice takes the whole part',
  },
  {
    file: 'drivers/language/blocks.ts',
    what: '2 to 2.2',
    line: 'const count = reply.slice(2, 2 + digits)',
    why: 'slice takes the whole part',
  },
  {
    file: 'drivers/link/registers.ts',
    what: '2 to 2.2',
    line: 'const words = Array.from({ length: countOf(rule) }, (_each, i) => SCRATCH.getUint16(2 * i))',
    why: 'a view takes the whole part of a place, and no number has more than four registers',
  },
  {
    file: 'drivers/link/registers.ts',
    what: '2 to 2.2',
    line: 'for (const [i, word] of ordered.entries()) SCRATCH.setUint16(2 * i, word)',
    why: 'a view takes the whole part of a place, and no number has more than four registers',
  },
  {
    file: 'drivers/language/pattern.ts',
    what: 'a condition that never holds',
    line: 'test: (text) => (isQuick(text) ? quick!.test(text) : bounded.matcher(text).find()),',
    why: 'only how quickly: a test holds that both engines find the same',
  },
  {
    file: 'drivers/language/pattern.ts',
    what: 'a condition that never holds',
    line: 'if (isQuick(text)) {',
    why: 'only how quickly: a test holds that both engines find the same',
  },
]

export const isSame = ({ file, what, line }: Omit<Same, 'why'>): boolean =>
  SAME.some((same) => same.file === file && same.what === what && same.line === line.trim())
