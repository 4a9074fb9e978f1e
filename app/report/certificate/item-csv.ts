import type { ThermometerResult } from '../../results/analysis.ts'
import { csvLine } from '../csv.ts'
import type { Certificate } from './certificate.ts'
import { statedPoints } from './item-numbers.ts'

const COLUMNS = ['t90', 'measured', 'signal', 'deviation', 'u', 'tolerance'] as const

/**
 * The points of a certificate as a table for a spreadsheet: numbers as they are printed, with the certificate's decimal sign;
 * semicolons stand between them where that is a comma (common practice, no source).
 */
export function itemCsv({ numbers, matter, decimalSign }: Certificate, result: ThermometerResult): string {
  const unit = result.signalUnit === 'ohm' ? 'ohm' : 'mV'
  const head = [
    'certificate',
    'serial_number',
    't90_C',
    `signal_at_measuring_current_${unit}`,
    `signal_${unit}`,
    'deviation_mK',
    'U_mK',
    'tolerance_mK',
    'k',
  ]
  const signed = (text: string | null | undefined) => text?.replace('.', decimalSign) ?? null
  const rows = statedPoints(result).map((_, i) => {
    const at = (what: string) => numbers[`point.${i + 1}.${what}`]
    return [
      matter.issue.number,
      matter.item.serial,
      ...COLUMNS.map((what) => signed(at(what)?.value)),
      signed(at('u')?.k),
    ]
  })
  return [head, ...rows].map((cells) => csvLine(cells, decimalSign === ',' ? ';' : ',')).join('')
}
