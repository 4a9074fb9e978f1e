import { type Measured, measuredPlain, measuredWords } from '../text/measured.ts'
import { significant } from '../text/numbers.ts'
import { copy } from '../text/save.ts'
import { Button } from './Button.tsx'
import type { summary } from './table.model.ts'

interface Props {
  /** The one number under the cursor, with what is known of it. */
  quoted: Measured | null
  /** Cells chosen, where they are more than one. */
  cells: number
  summed: ReturnType<typeof summary>
  unit: string
  onCopy: () => void
}

/** Digits of a mean: more than any reading has. */
const MEAN_DIGITS = 9

/** What the chosen cells come to, and how to take them along; stands below a table that has the focus. */
export function TableLine({ quoted, cells, summed, unit, onCopy }: Props) {
  if (!quoted && cells < 2) return null
  const number = (n: number) => `${significant(n, MEAN_DIGITS)}${unit && ` ${unit}`}`
  return (
    <div className="table-line-place">
      <div className="table-line">
        {quoted ? (
          <>
            <output>{measuredWords(quoted)}</output>
            <Button look="quiet" onPress={() => copy(measuredWords(quoted), measuredWords(quoted))}>
              Copy <kbd>c</kbd>
            </Button>
            <Button look="quiet" onPress={() => copy(measuredPlain(quoted), measuredPlain(quoted))}>
              Copy for a program <kbd>Shift c</kbd>
            </Button>
          </>
        ) : (
          <>
            <output>
              {`${cells} cells`}
              {summed &&
                `, ${summed.n} numbers: mean ${number(summed.mean)}, from ${number(summed.low)} to ${number(summed.high)}`}
            </output>
            <Button look="quiet" onPress={onCopy}>
              Copy <kbd>Ctrl c</kbd>
            </Button>
          </>
        )}
      </div>
    </div>
  )
}
