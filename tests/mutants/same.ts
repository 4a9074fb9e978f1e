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
    file: 'app/buses/modbus.ts',
    what: '2 to 3',
    line: "{ headBytes: 2, lengthOf: side === 'requests' ? requestLength : replyLength },",
    why: 'A frame has four bytes at least (address, function, check value): waiting for a third keeps none back.',
  },
  {
    file: 'main/station/strip.ts',
    what: '> to >=',
    line: 'if (this.#marks.length > MOST) this.#marks = this.#marks.slice(-MOST)',
    why: 'the last thousand of a thousand are all of them',
  },
  {
    file: 'main/store/overview.ts',
    what: '% to *',
    line: 'while (originUtcUs % (2 * step) === 0 && widthUs % (2 * step) === 0) step *= 2',
    why: 'only how wide the cells are that a picture is made of: with narrower ones its buckets are the same',
  },
  {
    file: 'main/station/session-run.ts',
    what: '>= to >',
    line: 'if (after === 0 || after + 1 >= this.live.first || this.#closed) {',
    why: 'where the oldest reading in memory is the very next one, the file has the same readings, converted by the same chains; it only takes longer',
  },
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
    file: 'drivers/language/numbers.ts',
    what: '0 to 1',
    line: "return withComma(sign + whole.padStart(format.width ?? 0, '0') + rest, format.comma)",
    why: 'what stands before the point has one digit at least',
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
  {
    file: 'app/results/uncertainty-acts.ts',
    what: '> to >=',
    line: 'return stated * stated > explained * explained * ROUNDED ? Math.sqrt(stated ** 2 - explained ** 2) : 0',
    why: 'a stated and a computed figure are equal to the last bit only where both are 0, and so is the root then',
  },
  {
    file: 'app/results/uncertainty-acts.ts',
    what: '< to <=',
    line: '!found && furthest && fixedMk(usual, furthest.referenceC) < at(furthest)',
    why: 'where the two are equal to the last bit either sentence is true',
  },
  {
    file: 'app/fit/fit-its90.ts',
    what: '0 to 1',
    line: 'for (let pass = 0; pass < 20; pass++) {',
    why: 'the passes end when R(WTP) stands still, after three or four: more of them take time and change nothing',
  },
  {
    file: 'app/fit/fit-its90.ts',
    what: '< to <=',
    line: 'for (let pass = 0; pass < 20; pass++) {',
    why: 'the passes end when R(WTP) stands still, after three or four: more of them take time and change nothing',
  },
  {
    file: 'app/fit/fit-its90.ts',
    what: '20 to 22',
    line: 'for (let pass = 0; pass < 20; pass++) {',
    why: 'the passes end when R(WTP) stands still, after three or four: more of them take time and change nothing',
  },
  {
    file: 'app/fit/fit-its90.ts',
    what: '< to <=',
    line: 'const settled = Math.abs(next - rWtp) < 1e-15 * rWtp',
    why: 'the passes end when R(WTP) stands still, after three or four: more of them take time and change nothing',
  },
  {
    file: 'app/fit/fit-its90.ts',
    what: '- to +',
    line: 'const settled = Math.abs(next - rWtp) < 1e-15 * rWtp',
    why: 'the passes end when R(WTP) stands still, after three or four: more of them take time and change nothing',
  },
  {
    file: 'app/fit/fit-its90.ts',
    what: '* to /',
    line: 'const settled = Math.abs(next - rWtp) < 1e-15 * rWtp',
    why: 'the passes end when R(WTP) stands still, after three or four: more of them take time and change nothing',
  },
  {
    file: 'app/fit/fit-its90.ts',
    what: '1e-15 to 1.1000000000000001e-15',
    line: 'const settled = Math.abs(next - rWtp) < 1e-15 * rWtp',
    why: 'the passes end when R(WTP) stands still, after three or four: more of them take time and change nothing',
  },
  {
    file: 'app/fit/fit-its90.ts',
    what: '0 to 1',
    line: "for (let pass = 0; pass < 20 && known === undefined && range.coefficients.includes('d'); pass++) {",
    why: 'the passes end when the start of the d term stands still: more of them take time and change nothing',
  },
  {
    file: 'app/fit/fit-its90.ts',
    what: '< to <=',
    line: "for (let pass = 0; pass < 20 && known === undefined && range.coefficients.includes('d'); pass++) {",
    why: 'the passes end when the start of the d term stands still: more of them take time and change nothing',
  },
  {
    file: 'app/fit/fit-its90.ts',
    what: '20 to 22',
    line: "for (let pass = 0; pass < 20 && known === undefined && range.coefficients.includes('d'); pass++) {",
    why: 'the passes end when the start of the d term stands still: more of them take time and change nothing',
  },
  {
    file: 'app/fit/fit-its90.ts',
    what: '< to <=',
    line: 'const settled = Math.abs(next - wAluminium) < 1e-14',
    why: 'the passes end when the start of the d term stands still: more of them take time and change nothing',
  },
  {
    file: 'app/fit/fit-its90.ts',
    what: '- to +',
    line: 'const settled = Math.abs(next - wAluminium) < 1e-14',
    why: 'the passes end when the start of the d term stands still: more of them take time and change nothing',
  },
  {
    file: 'app/fit/fit-its90.ts',
    what: '1e-14 to 1.1e-14',
    line: 'const settled = Math.abs(next - wAluminium) < 1e-14',
    why: 'the passes end when the start of the d term stands still: more of them take time and change nothing',
  },
  {
    file: 'app/fit/fit-its90.ts',
    what: 'a condition that never holds',
    line: 'if (settled) break',
    why: 'more passes after the figures stand still take time and change nothing',
  },
  {
    file: 'app/fit/fit-its90.ts',
    what: '< to <=',
    line: "return range.reference === 'low' || (range.reference === 'both' && t90C < WTP_C)",
    why: 'at the triple point of water both reference functions have the same slope to parts in a million, and a weight is known to a hundredth at best',
  },
  {
    file: 'app/fit/fit-its90.ts',
    what: '<= to <',
    line: 'const aluminium = own.findIndex(({ t90C }) => Math.abs(t90C - ALUMINIUM_C) <= END_K)',
    why: 'no double lies just there',
  },
  {
    file: 'app/fit/fit-its90.ts',
    what: '< to <=',
    line: 'const branch = t90C < WTP_C ? at(branches, 0) : last(branches)',
    why: 'the triple point itself was answered in the line before',
  },
  {
    file: 'app/results/uncertainty-places.ts',
    what: '0 to 1',
    line: 'uMk: (p) => p.references[k]?.noiseMk ?? 0,',
    why: 'only a cell has no reference: its weight there is 0, and what is multiplied by it as well',
  },
  {
    file: 'app/results/uncertainty-places.ts',
    what: '0 to 1',
    line: 'uMk: (p) => unseen(p.references[k]?.noiseMk ?? 0),',
    why: 'only a cell has no reference: its weight there is 0, and what is multiplied by it as well',
  },
  {
    file: 'app/fit/fit-callendar.ts',
    what: '< to <=',
    line: 'const below = (t: number) => (t < 0 ? (t - 100) * t * t * t : 0)',
    why: 'the term is 0 at 0 °C either way',
  },
  {
    file: 'app/fit/fit-callendar.ts',
    what: '0 to 1',
    line: 'const first = solve(points.map(() => 0))',
    why: 'the first fit only gives the slopes by which u(t90) weighs, which it has to a part in ten thousand either way',
  },
  {
    file: 'app/fit/fit-callendar.ts',
    what: 'a condition that always holds',
    line: 'const { fit, weightsAre } = points.some(({ uT }) => uT)',
    why: 'without u(t90) the second fit is the first one again',
  },
  {
    file: 'app/fit/fit-linear.ts',
    what: '> to >=',
    line: '1 - at(leverages, i) > 1e-9 ? residual / (1 - at(leverages, i)) : Number.NaN,',
    why: 'the leverage of a point on which a coefficient rests is 1 to rounding, some 1e-15; of another it is not within 1e-9 of 1',
  },
  {
    file: 'app/fit/fit-linear.ts',
    what: '1e-9 to 1.1000000000000001e-9',
    line: '1 - at(leverages, i) > 1e-9 ? residual / (1 - at(leverages, i)) : Number.NaN,',
    why: 'the leverage of a point on which a coefficient rests is 1 to rounding, some 1e-15; of another it is not within 1e-9 of 1',
  },
  {
    file: 'app/fit/fit-linear.ts',
    what: 'every to some',
    line: 'if (!matrix.every((row) => row.every(Number.isFinite))) return {}',
    why: 'a covariance is known whole or not at all',
  },
  {
    file: 'app/base/plural.ts',
    what: 'without rules.set()',
    line: 'rules.set(locale, made)',
    why: 'only that rules of a language are not made again each time',
  },
  {
    file: 'drivers/language/pattern.ts',
    what: '64 to 70.4',
    line: 'const SHORT = 64',
    why: 'only how quickly: a test holds that both engines find the same',
  },
  {
    file: 'drivers/language/pattern.ts',
    what: '|| to &&',
    line: 'const isQuick = (text: string) => quick !== undefined && (repeats === 0 || text.length <= SHORT)',
    why: 'only how quickly: a test holds that both engines find the same',
  },
  {
    file: 'app/contract/calls-results.ts',
    what: '100 to 110.00000000000001',
    line: 'ids: z.array(Id).max(100).optional(),',
    why: 'how many sessions may be asked for by name at once stands nowhere: the limit only keeps a question small',
  },
]

export const isSame = ({ file, what, line }: Omit<Same, 'why'>): boolean =>
  SAME.some((same) => same.file === file && same.what === what && same.line === line.trim())
