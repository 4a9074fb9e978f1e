import { counted } from '../../app/base/plural.ts'
import type { Thread } from '../../app/contract/studies.ts'
import { Button } from '../parts/Button.tsx'
import { Problem } from '../parts/Problem.tsx'
import { readable } from '../points/thread.model.ts'
import { type Measured, measuredPlain, measuredWords } from '../text/measured.ts'
import { unitSign } from '../text/numbers.ts'

interface Props {
  thread: Thread | undefined
  /** Its number with the uncertainty that is known of it. */
  measured: Measured | null
  problem: string | undefined
  depth: number
  onPull: (key: string) => void
  onBack: () => void
  onClose: () => void
  onCopy: (text: string) => void
  onCopyInputs: () => void
}

/** A number unfolded: formula, source, what went in, and each of those again. */
export function ThreadView({
  thread,
  measured,
  problem,
  depth,
  onPull,
  onBack,
  onClose,
  onCopy,
  onCopyInputs,
}: Props) {
  return (
    <aside className="thread" aria-label="How this number came about">
      <div className="row row-apart">
        {depth > 1 ? (
          <Button look="quiet" onPress={onBack}>
            One number back
          </Button>
        ) : (
          <span />
        )}
        <Button look="quiet" onPress={onClose}>
          Close
        </Button>
      </div>
      <Problem words={problem} />
      {thread && (
        <>
          <h2>{thread.name}</h2>
          <p className="thread-value">
            {measured ? measuredWords(measured) : `${thread.value} ${unitSign(thread.unit)}`}
          </p>
          {measured && <small className="thread-digits">{`Every digit: ${measured.value}`}</small>}
          <div className="row">
            <Button
              onPress={() =>
                onCopy(measured ? measuredWords(measured) : `${thread.value} ${unitSign(thread.unit)}`.trim())
              }
            >
              Copy
            </Button>
            {measured && <Button onPress={() => onCopy(measuredPlain(measured))}>Copy for a program</Button>}
          </div>
          {thread.formula && <p className="thread-formula">{thread.formula}</p>}
          {thread.source && <p className="thread-source">{thread.source}</p>}
          {thread.inputs.length > 0 && (
            <ul className="thread-inputs">
              {thread.inputs.map((input) => (
                <li key={`${input.key ?? ''}${input.name}${input.words}`}>
                  <span className="thread-name">{input.name}</span>
                  {input.key === null ? (
                    <span className="thread-number" title={input.value}>
                      {readable(input.value, input.unit)}
                    </span>
                  ) : (
                    <button
                      type="button"
                      className="thread-number digits-pull"
                      title={input.value}
                      onClick={() => onPull(input.key!)}
                    >
                      {readable(input.value, input.unit)}
                    </button>
                  )}
                  <small>{input.words}</small>
                </li>
              ))}
            </ul>
          )}
          {thread.inputs.length > 0 && (
            <div className="row">
              <Button look="quiet" onPress={onCopyInputs}>
                Copy what went into it
              </Button>
            </div>
          )}
          {thread.readings && <p>{readingsWords(thread.readings)}</p>}
        </>
      )}
    </aside>
  )
}

function readingsWords({ count, firstSeq, lastSeq }: NonNullable<Thread['readings']>): string {
  if (count === 1) return `One reading, number ${firstSeq} of the session.`
  return `${counted(count, 'reading')}, between numbers ${firstSeq} and ${lastSeq} of the session.`
}
