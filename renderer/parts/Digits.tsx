import { expanded as expandedWords, honest } from '../signs/digits.ts'
import { unitSign } from '../text/numbers.ts'
import { useInGrid } from './in-grid.ts'

interface Props {
  value: number | null
  u: number | null
  unit: string
  extra?: number
  /** Decimals to fill up to with blanks, so that a column stands in line. */
  decimals?: number
  showExpanded?: boolean
  /** Without its unit, where the heading of a column has it. */
  bare?: boolean
  /** Given where the number can be pulled. */
  onPull?: (() => void) | undefined
  label?: string
}

/** A number that shows what its uncertainty allows at full strength, the rest dimmed, and its unit. */
export function Digits({
  value,
  u,
  unit,
  extra = 1,
  decimals = 0,
  showExpanded,
  bare,
  onPull,
  label,
}: Props) {
  const inGrid = useInGrid()
  const { strong, weak } = honest(value, u, unit, extra, decimals)
  const sign = unitSign(unit)
  const number = (
    <>
      <span className="digits-strong">{strong}</span>
      <span className="digits-weak">{weak.trimEnd()}</span>
      <span className="digits-blank">{weak.slice(weak.trimEnd().length)}</span>
      {sign && !bare && value !== null && <span className="digits-unit">{` ${sign}`}</span>}
      {showExpanded && <span className="digits-expanded">{expandedWords(u)}</span>}
    </>
  )
  if (!onPull || value === null) return <span className="digits">{number}</span>
  return (
    <button
      type="button"
      className="digits digits-pull"
      onClick={onPull}
      tabIndex={inGrid ? -1 : undefined}
      title="Unfold how this number came about"
      {...(label ? { 'aria-label': `${label}: ${strong}${weak} ${sign}. Unfold` } : {})}
    >
      {number}
    </button>
  )
}
