import type { ComparedResistor, Resistor, ResistorCalibration } from '../../records/register.ts'
import type { Block, Cell } from '../blocks.ts'
import { NumberBook, uncertaintyOf } from '../numbers.ts'

/** A comparison of a resistor with a better one, and the calibration it became. */
export interface ResistorWork {
  readonly resistor: Resistor
  readonly compared: ComparedResistor
  readonly calibration: ResistorCalibration | undefined
  readonly better: Resistor | undefined
}

/** A relative size with its U, both in ppm, to the place that two digits of U leave. */
function partsWithU(relative: number, expanded: number): string {
  const places = Math.max(0, 1 - Math.floor(Math.log10(expanded * 1e6)))
  const text = (value: number) => (value * 1e6).toFixed(places)
  return `${text(relative)} × 10⁻⁶, U ${text(expanded)} × 10⁻⁶`
}

/** Method, result and history of a resistor's comparison, and the numbers in it. */
export function resistorBlocks({ resistor, compared, calibration, better }: ResistorWork): {
  blocks: Block[]
  book: NumberBook
} {
  const book = new NumberBook()
  const ohm = Number(compared.ohm)
  const ratio = Number(compared.ratio)
  const value = book.add('resistance', {
    name: `${resistor.name}, resistance`,
    value: ohm,
    unit: 'Ω',
    expanded: 2 * ohm * compared.uRelative,
    k: 2,
  })
  const n = book.add('ratio', {
    name: 'Ratio to the better resistor',
    value: ratio,
    unit: '1',
    expanded: 2 * compared.uRatio,
    k: 2,
  })
  const rows: { label: string; cells: Cell[] }[] = [
    { label: 'Resistance / Ω', cells: [value] },
    { label: 'U / Ω, k = 2', cells: [uncertaintyOf('resistance')] },
    {
      label: 'Temperature',
      cells: [`${resistor.keptAtC.toFixed(2)} °C, u ${resistor.uKeptAtK.toFixed(3)} K`],
    },
    { label: `Ratio to ${better?.name ?? compared.against}`, cells: [n] },
    { label: 'U of the ratio, k = 2', cells: [uncertaintyOf('ratio')] },
    ...(compared.expected
      ? [
          {
            label: 'From what its history led to expect',
            cells: [
              `${partsWithU(compared.expected.difference, compared.expected.expanded)}: ${compared.expected.agrees ? 'within U' : 'beyond U'}`,
            ],
          },
        ]
      : []),
    ...(calibration && calibration.uDriftPerYear > 0
      ? [
          {
            label: 'Drift a year, from all its values',
            cells: [partsWithU(calibration.driftPerYear, 2 * calibration.uDriftPerYear)],
          },
        ]
      : []),
  ]
  return {
    book,
    blocks: [
      { kind: 'heading', level: 2, text: 'Method' },
      {
        kind: 'text',
        text: 'The resistor was measured as a ratio n to a better one: R = n Rs, u²(R)/R² = u²(n)/n² + u²(Rs)/Rs², with the better one at its own temperature and on the day of the work.',
      },
      { kind: 'heading', level: 2, text: 'Results' },
      { kind: 'facts', rows },
    ],
  }
}
