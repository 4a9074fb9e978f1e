import { bridgesBy, METHODS } from './bridges.ts'
import { jobsOf, SEQUENCES, type Sequence } from './cells.ts'

/** Truths within U are to be as many as it states, within this, per cent. */
const STATED = 95
const WIDE = 3

const near = (share: number) => Math.abs(share - STATED) <= WIDE
const percent = (share: number) => `${share.toFixed(1)} %${near(share) ? '' : ' (beyond)'}`
const row = (cells: readonly string[]) => `| ${cells.join(' | ')} |`

interface Told {
  readonly good: boolean
  readonly text: string
}

/** The page of a coverage, as `docs/` keeps it, and whether it is what U states. */
export function coverageTable(kind: 'bridges' | 'cells', count: number, first: number): Told {
  return kind === 'bridges' ? ofBridges(count, first) : ofCells(count, first)
}

function ofBridges(count: number, first: number): Told {
  const found = METHODS.map((method) => ({ method, tally: bridgesBy(method, count, first) }))
  const lines = found.map(({ method, tally: { checked, curve, found: rms, expanded } }) =>
    row([
      method,
      percent(checked),
      `${curve.toFixed(1)} %`,
      `${rms[1].toFixed(2)} (${rms[0].toFixed(2)} to ${rms[2].toFixed(2)})`,
      `${(expanded * 1e9).toFixed(1)}`,
    ]),
  )
  return {
    good: found.every(({ tally }) => near(tally.checked)),
    text: `# Bridge checks: how often the truth lies within U

${count} simulated bridges of the lab in a box, each with an error curve of its own (three waves of random size, 50 parts in 10⁹
together), noise of 10 parts in 10⁹ a reading, checked with its own resistors by each method. Made with one command:

    npm run soak -- --bridges ${count} --seed ${first} --table docs/bridge-coverage.md

${row(['method', 'within U at the ratios checked', 'over the whole curve', 'rms found / true, median (5 % to 95 %)', 'median U, 10⁻⁹ of ratio'])}
|---|---|---|---|---|
${lines.join('\n')}

U is k = 2 and should hold ${STATED} % (within ${WIDE}) at the ratios that were checked; between them it may err on the wide side, for
nothing was measured there. With combinations the line through zero, with interchange what is opposite at n and 1/n is taken
off the truth as well: neither can be determined. The box has resistors of 0.25, 0.36 and 1 of the bridge's reference: with values
in steps of two (0.25, 0.5, 1) a wave of half a ratio looks like a constant, and only about 86 % lie within U (60 bridges, tried apart).
`,
  }
}

function ofCells(count: number, first: number): Told {
  const found = (Object.keys(SEQUENCES) as Sequence[]).map((sequence) => ({
    sequence,
    tally: jobsOf(sequence, count, first),
  }))
  const lines = found.map(({ sequence, tally: { rWtp, coefficients, temperatures, refused } }) =>
    row([
      sequence,
      percent(rWtp),
      percent(coefficients),
      percent(temperatures),
      refused === null ? '' : `${refused.toFixed(1)} %`,
    ]),
  )
  return {
    good: found.every(
      ({ tally }) => near(tally.coefficients) && near(tally.temperatures) && near(tally.rWtp),
    ),
    text: `# Fixed points: how often the truth lies within U

${count} simulated jobs of each sequence, a thermometer drawn anew for each; every cause has an error drawn from what is stated of
it, once for all plateaus that share it (cell, depth, bridge at one ratio; the resistor for all). Made with one command:

    npm run soak -- --cells ${count} --seed ${first} --table docs/cell-coverage.md

${row(['sequence', 'R(0.01 °C)', 'coefficients', 'temperatures over the range', 'sets refused as not agreeing'])}
|---|---|---|---|---|
${lines.join('\n')}

U should hold ${STATED} % (within ${WIDE}); of sets with more cells than coefficients 5 % are refused by chance.
`,
  }
}
