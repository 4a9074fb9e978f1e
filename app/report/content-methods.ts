import { counted } from '../base/plural.ts'
import type { ThermometerResult } from '../results/analysis.ts'
import type { MethodComparison, MethodVerdict, MonteCarlo } from '../results/uncertainty-monte-carlo.ts'
import type { Block, Cell } from './blocks.ts'
import type { NumberBook } from './numbers.ts'
import { pointLabel } from './words.ts'

/** The two methods compared for one thermometer, as results.json states it. */
export interface MethodsCompared {
  readonly channel: string
  readonly trials: number
  readonly seed: number
  /** Significant digits of u to which the two are held. */
  readonly digits: number
  /** How many results of which verdict. */
  readonly verdicts: Readonly<Record<MethodVerdict, number>>
  /** What a reader learns of it, in words. */
  readonly words: string
}

const VERDICT_WORDS: Readonly<Record<MethodVerdict, string>> = {
  agree: 'agree',
  differ: 'differ',
  open: 'not decided',
}

const WHAT_WORDS = { point: 'point', curve: 'curve' } as const

const half = (row: MethodComparison) => (row.high - row.low) / 2

/** Where the methods differ: which interval is the wider, why that may be, and which one to use. */
function differenceWords(rows: readonly MethodComparison[], dof: number | null): string {
  const apart = rows.filter((r) => r.verdict === 'differ')
  if (apart.length === 0) return ''
  const wider = apart.filter((r) => half(r) > r.expanded)
  const by = Math.max(...apart.map((r) => Math.abs(half(r) - r.expanded)))
  const which =
    wider.length === apart.length
      ? `that of JCGM 101 is the wider, by up to ${by.toPrecision(2)} mK`
      : wider.length === 0
        ? `that of JCGM 101 is the narrower, by up to ${by.toPrecision(2)} mK, so that U as stated is on the safe side`
        : `the intervals differ by up to ${by.toPrecision(2)} mK, either way`
  const why =
    dof === null
      ? 'One component that is not normal dominates, or few degrees of freedom make long tails.'
      : `A component of ${counted(dof, 'degree', 'degrees')} of freedom makes long tails.`
  return (
    ` At ${apart.map((r) => `${pointLabel(r.point)} (${WHAT_WORDS[r.what]})`).join(', ')} they differ: ${which}. ${why} ` +
    'There the law of propagation is not validated, and that of JCGM 101 in the table is the one to use where the coverage ' +
    'probability matters (JCGM 101:2008, 8.1).'
  )
}

function wordsOf(monteCarlo: MonteCarlo, dof: number | null): string {
  const { rows } = monteCarlo
  const count = (verdict: MethodVerdict) => rows.filter((r) => r.verdict === verdict).length
  const [agree, open] = [count('agree'), count('open')]
  const head =
    agree === rows.length
      ? `JCGM 100 and JCGM 101 agree in all ${counted(rows.length, 'result')}.`
      : `JCGM 100 and JCGM 101 agree in ${agree} of ${counted(rows.length, 'result')}.`
  const near = rows.filter((r) => r.verdict === 'open')
  const reach = (r: MethodComparison) => Math.max(r.lowDifference, r.highDifference) + r.numerical
  const most = Math.max(0, ...near.map(reach))
  const part = Math.max(0, ...near.map((r) => reach(r) / r.expanded))
  const undecided =
    open === 0
      ? ''
      : ` In ${open} the difference is nearer to the tolerance than ${monteCarlo.trials} trials can tell; it is less than ` +
        `${most.toPrecision(2)} mK there, ${(100 * part).toPrecision(1)} % of U.`
  return `${head}${undecided}${differenceWords(rows, dof)}`
}

/** The comparison as data; null where no distributions were drawn. */
export function methodsCompared(result: ThermometerResult): MethodsCompared | null {
  const { monteCarlo, fit, record } = result
  if (!monteCarlo) return null
  const { trials, seed, digits, rows } = monteCarlo
  const verdicts = { agree: 0, differ: 0, open: 0 }
  for (const row of rows) verdicts[row.verdict]++
  return {
    channel: record.channel.id,
    trials,
    seed,
    digits,
    verdicts,
    words: wordsOf(monteCarlo, fit?.excess?.degreesOfFreedom ?? null),
  }
}

/** Both methods side by side at every point, and what follows of it. */
export function methodBlocks(result: ThermometerResult, book: NumberBook): Block[] {
  const { monteCarlo } = result
  const compared = methodsCompared(result)
  if (!monteCarlo || !compared) return []
  const id = result.record.channel.id
  const rows = monteCarlo.rows.map((row): Cell[] => {
    const key = `${id}.jcgm101.${row.point}.${row.what}`
    const name = `${row.point}, ${WHAT_WORDS[row.what]}`
    const end = (which: 'low' | 'high') =>
      book.add(`${key}-${which}`, {
        name: `${name}: JCGM 101, ${which} end of the interval`,
        value: row[which],
        unit: 'mK',
        roundLike: row.expanded,
      })
    return [
      `${pointLabel(row.point)}, ${WHAT_WORDS[row.what]}`,
      book.size(`${key}-u100`, `${name}: JCGM 100, standard uncertainty`, row.u, 'mK'),
      book.size(`${key}-u101`, `${name}: JCGM 101, standard deviation`, row.uMonteCarlo, 'mK'),
      book.size(`${key}-expanded100`, `${name}: JCGM 100, expanded uncertainty`, row.expanded, 'mK'),
      end('low'),
      end('high'),
      book.size(
        `${key}-difference`,
        `${name}: larger difference of the ends`,
        Math.max(row.lowDifference, row.highDifference),
        'mK',
      ),
      book.size(`${key}-tolerance`, `${name}: tolerance δ`, row.tolerance, 'mK', 1),
      VERDICT_WORDS[row.verdict],
    ]
  })
  return [
    {
      kind: 'table',
      caption: 'The two methods compared',
      columns: [
        { head: 'Result', align: 'left' },
        { head: 'u, 100', unit: 'mK', align: 'decimal' },
        { head: 'u, 101', unit: 'mK', align: 'decimal' },
        { head: 'U, 100', unit: 'mK', align: 'decimal' },
        { head: 'Low, 101', unit: 'mK', align: 'decimal' },
        { head: 'High, 101', unit: 'mK', align: 'decimal' },
        { head: 'Difference', unit: 'mK', align: 'decimal' },
        { head: 'δ', unit: 'mK', align: 'decimal' },
        { head: 'Verdict', align: 'left' },
      ],
      rows,
      note:
        '100 and 101: JCGM 100 and JCGM 101; low and high: ends of the interval. Point: the reference temperature against the signal. ' +
        'Curve: a temperature found with the coefficients. JCGM 101 draws every ' +
        `source from its distribution (${monteCarlo.trials} trials, seed ${monteCarlo.seed}). The methods agree where both ends of the ` +
        `interval differ by at most δ, half a unit in digit ${monteCarlo.digits} of u (JCGM 101:2008, 7.9.2 and 8.1).`,
    },
    { kind: 'text', text: compared.words },
  ]
}
