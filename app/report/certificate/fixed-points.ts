import { at as placed } from '../../base/lists.ts'
import { valueOfPlateau } from '../../checks/answer-check.ts'
import type { FixedPointValue } from '../../checks/fixed-point.ts'
import { calibrateByFixedPoints, type FixedPointCalibration } from '../../checks/fixed-point-calibration.ts'
import type { FixedPointsRequest } from '../../contract/check-request.ts'
import type { Cell as FixedPointCell } from '../../records/cell.ts'
import type { ThermometerCalibration } from '../../records/register.ts'
import type { Block, Cell } from '../blocks.ts'
import { coverageOf, NumberBook, uncertaintyOf } from '../numbers.ts'
import { deviationEquation } from '../words.ts'

/** A calibration at fixed points with all it was made of. */
export interface FixedPointWork {
  readonly calibration: ThermometerCalibration
  readonly request: FixedPointsRequest
  readonly cells: readonly FixedPointCell[]
  /** Measuring current of the thermometer, mA. */
  readonly currentMa: number
}

interface Found extends FixedPointWork {
  readonly found: FixedPointCalibration
  readonly values: readonly FixedPointValue[]
}

const K = 2
const NAMES: Readonly<Record<string, string>> = { H2O: 'WTP' }
const named = (name: string) => NAMES[name] ?? name

/** Which cell a plateau was taken in: its name in the register, or the fixed point alone. */
const cellOf = ({ cells }: FixedPointWork, value: FixedPointValue) =>
  cells.find(({ id }) => id === value.cell)

function methodBlocks(work: Found): Block[] {
  const { found, values } = work
  const heated = values.every((v) => v.components.some((c) => c.name === 'Self-heating'))
  return [
    { kind: 'heading', level: 2, text: 'Method' },
    {
      kind: 'text',
      text:
        'Resistance was measured as a ratio to a reference resistor while the fixed point was realised. Each value is the mean of the part of the plateau that is trusted, brought to the temperature of the element by the hydrostatic head and the pressure (ITS-90, table 2) ' +
        (heated ? 'and to zero current.' : 'at the measuring current where no self-heating is stated.'),
    },
    {
      kind: 'text',
      text: 'W is the ratio of R at the fixed point to R(0.01 °C), both at zero current; R(0.01 °C) is taken for the time of each plateau from the water plateaus before and after it. The error of the reference resistor is the same in both and is not in W.',
    },
    ...(found.consistency
      ? [
          {
            kind: 'text',
            text: `More fixed points than coefficients were taken: chi-squared ${found.consistency.chiSquared.toFixed(2)} at ${found.consistency.degreesOfFreedom} degrees of freedom, limit ${found.consistency.limit.toFixed(2)} (5 %): they ${found.consistency.agrees ? 'agree' : 'do not agree'}.`,
          } as const,
        ]
      : []),
    {
      kind: 'facts',
      rows: [
        { label: 'Measuring current', cells: [`${work.currentMa} mA`] },
        { label: 'Room conditions', cells: ['not recorded: the cells keep their own temperature'] },
      ],
    },
  ]
}

function cellTable(work: Found): Block {
  const rows = work.values.map((value, i): Cell[] => {
    const cell = cellOf(work, value)
    const { depthM, utc } = placed(work.request.plateaus, i)
    return [
      named(value.fixedPoint),
      cell ? [cell.name, cell.serial].filter(Boolean).join(', ') : 'not named',
      utc ? `${utc.slice(0, 16).replace('T', ' ')} UTC` : 'not stated',
      value.t90C.toFixed(5),
      (depthM * 1000).toFixed(0),
      value.headMk.toFixed(3),
    ]
  })
  return {
    kind: 'table',
    caption: 'Fixed points in the order they were taken',
    columns: [
      { head: 'Point', align: 'left' },
      { head: 'Cell', align: 'left' },
      { head: 'Taken', align: 'left' },
      { head: 't90 at the element', unit: '°C', align: 'decimal' },
      { head: 'Depth', unit: 'mm', align: 'right' },
      { head: 'Head', unit: 'mK', align: 'decimal' },
    ],
    rows,
  }
}

function valueTable({ found, values }: Found, book: NumberBook): Block {
  let other = 0
  const rows = values.map((value, i): Cell[] => {
    const slope = found.prepared.toSignal(value.t90C).dValueDInput
    const key = `plateau.${i + 1}`
    const point = named(value.fixedPoint)
    const ohm = book.add(`${key}.ohm`, {
      name: `R(0 mA) at ${point}`,
      value: value.ohm,
      unit: 'Ω',
      expanded: K * value.uMk * 1e-3 * slope,
      k: K,
    })
    if (value.fixedPoint === 'H2O') return [point, ohm, uncertaintyOf(`${key}.ohm`), '1', '', '']
    const at = placed(found.points, other++)
    const w = book.add(`${key}.w`, {
      name: `W at ${point}`,
      value: at.w,
      unit: '1',
      expanded: K * at.uW,
      k: K,
    })
    const left = book.add(`${key}.residual`, {
      name: `${point}: from the coefficients`,
      value: at.residualMk,
      unit: 'mK',
      roundLike: 0.01,
    })
    return [point, ohm, uncertaintyOf(`${key}.ohm`), w, uncertaintyOf(`${key}.w`), left]
  })
  return {
    kind: 'table',
    caption: 'Results at the fixed points (k = 2)',
    columns: [
      { head: 'Point', align: 'left' },
      { head: 'R(0 mA)', unit: 'Ω', align: 'decimal' },
      { head: 'U(R)', unit: 'Ω', align: 'decimal' },
      { head: 'W', align: 'decimal' },
      { head: 'U(W)', align: 'decimal' },
      { head: 'From the coefficients', unit: 'mK', align: 'decimal' },
    ],
    rows,
    ...(found.consistency === null && {
      note: 'There are as many fixed points as coefficients: that nothing is left of them says nothing about their quality.',
    }),
  }
}

function wtpBlocks({ found }: Found): Block[] {
  if (found.wtpSteps.length === 0) return []
  return [
    {
      kind: 'table',
      caption: 'R(0.01 °C) from one water plateau to the next',
      columns: [
        { head: 'Step', align: 'left' },
        { head: 'Change', unit: 'mK', align: 'decimal' },
        { head: 'U, k = 2', unit: 'mK', align: 'decimal' },
        { head: 'Verdict', align: 'left' },
      ],
      rows: found.wtpSteps.map(({ changeMk, expandedMk, agrees }, i) => [
        `${i + 1} to ${i + 2}`,
        changeMk.toFixed(3),
        expandedMk.toFixed(3),
        agrees ? 'within U' : 'beyond U',
      ]),
      note: 'The same cell and resistor are in both values and in neither uncertainty.',
    },
  ]
}

function coefficientBlocks({ found, calibration }: Found, book: NumberBook): Block[] {
  const { conversion } = calibration
  const range = conversion.kind === 'its90' ? conversion.subrange : ''
  const rows = found.coefficients.map(({ name, value, expanded, k }): Cell[] => {
    const key = `coefficient.${name}`
    const shown = book.add(key, {
      name: name === 'rWtp' ? 'R(0.01 °C)' : `Coefficient ${name}`,
      value,
      unit: name === 'rWtp' ? 'Ω' : '1',
      expanded,
      k,
      extraPlaces: name === 'rWtp' ? 0 : 3,
    })
    return [name === 'rWtp' ? 'R(0.01 °C) / Ω' : name, shown, uncertaintyOf(key), coverageOf(key)]
  })
  const { names, matrix } = found.covariance
  const pairs = names.flatMap((a, i) =>
    names.slice(i + 1).map((b, j) => {
      const covariance = (row: number, column: number) => placed(placed(matrix, row), column)
      const [p, q] = [i, i + 1 + j]
      const [u, v] = [Math.sqrt(covariance(p, p)), Math.sqrt(covariance(q, q))]
      return `r(${a}, ${b}) = ${(covariance(p, q) / (u * v)).toFixed(4)}`
    }),
  )
  return [
    {
      kind: 'table',
      caption: `ITS-90 deviation function, section ${range}`,
      columns: [
        { head: 'Coefficient', align: 'left' },
        { head: 'Value', align: 'decimal' },
        { head: 'U', align: 'decimal' },
        { head: 'k', align: 'decimal' },
      ],
      rows,
      note:
        `${deviationEquation(range ?? '')}. Valid from ${calibration.lowC.toFixed(3)} °C to ${calibration.highC.toFixed(3)} °C, the ends of what was measured.` +
        (pairs.length > 0
          ? ` The coefficients are correlated and belong together: ${pairs.join(', ')}.`
          : ''),
    },
  ]
}

function temperatureTable({ found, calibration }: Found, book: NumberBook): Block {
  const rows = (calibration.uncertainty?.points ?? []).map(({ celsius, expandedMk }): Cell[] => {
    const key = `table.${celsius}`
    const { value, dValueDInput } = found.prepared.toSignal(celsius)
    const ohm = book.add(`${key}.ohm`, {
      name: `R(0 mA) at ${celsius} °C`,
      value,
      unit: 'Ω',
      roundLike: expandedMk * 1e-3 * dValueDInput,
    })
    const w = book.add(`${key}.w`, {
      name: `W at ${celsius} °C`,
      value: value / found.rWtp,
      unit: '1',
      roundLike: (expandedMk * 1e-3 * dValueDInput) / found.rWtp,
    })
    const u = book.size(`${key}.expanded`, `U at ${celsius} °C`, expandedMk, 'mK')
    return [celsius.toFixed(3), ohm, w, u]
  })
  return {
    kind: 'table',
    caption: 'Temperature found with the coefficients and R(0.01 °C) above',
    columns: [
      { head: 't90', unit: '°C', align: 'decimal' },
      { head: 'R(0 mA)', unit: 'Ω', align: 'decimal' },
      { head: 'W', align: 'decimal' },
      { head: 'U, k = 2', unit: 'mK', align: 'decimal' },
    ],
    rows,
    note: 'U holds for a resistance measured against the same resistor; with another one add what is uncertain of both.',
  }
}

function budgetTable({ values }: Found): Block {
  const components = new Map<string, FixedPointValue['components'][number]['sharedBy']>()
  for (const { name, sharedBy } of values.flatMap((v) => v.components))
    if (!components.has(name)) components.set(name, sharedBy)
  const shared = {
    nothing: 'each plateau its own',
    cell: 'all plateaus of the cell',
    resistor: 'all, and not in W',
  }
  const part = (value: FixedPointValue, name: string) =>
    value.components.find((c) => c.name === name)?.uMk.toFixed(3) ?? ''
  return {
    kind: 'table',
    caption: 'Uncertainty budget of each plateau: standard uncertainties, mK',
    columns: [
      { head: 'Source', align: 'left' },
      ...values.map((v) => ({ head: named(v.fixedPoint), align: 'decimal' as const })),
      { head: 'Shared by', align: 'left' },
    ],
    rows: [
      ...[...components].map(([name, sharedBy]) => [
        name,
        ...values.map((v) => part(v, name)),
        shared[sharedBy],
      ]),
      ['Combined', ...values.map((v) => v.uMk.toFixed(3)), ''],
    ],
  }
}

/** Method, results and budget of a calibration at fixed points, and the numbers in them. Throws what calibrateByFixedPoints throws. */
export function fixedPointBlocks(
  work: FixedPointWork,
): Pick<Found, 'found' | 'values'> & { blocks: Block[]; book: NumberBook } {
  const { request } = work
  const values = request.plateaus.map(valueOfPlateau)
  const found = calibrateByFixedPoints(values, request.coverage, request.subrange)
  const whole: Found = { ...work, values, found }
  const book = new NumberBook()
  const blocks: Block[] = [
    ...methodBlocks(whole),
    cellTable(whole),
    { kind: 'heading', level: 2, text: 'Results' },
    valueTable(whole, book),
    ...wtpBlocks(whole),
    ...coefficientBlocks(whole, book),
    temperatureTable(whole, book),
    budgetTable(whole),
  ]
  return { blocks, book, found, values }
}
