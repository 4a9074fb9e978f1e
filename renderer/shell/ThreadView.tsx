import type { Thread } from '../../app/contract/studies.ts'
import { Button } from '../parts/Button.tsx'
import { Problem } from '../parts/Problem.tsx'
import { unitSign } from '../text/numbers.ts'

interface Props {
  thread: Thread | undefined
  problem: string | undefined
  depth: number
  onPull: (key: string) => void
  onBack: () => void
  onClose: () => void
  onCopy: (text: string) => void
}

/** A number unfolded: formula, source, what went in, and each of those again. */
export function ThreadView({ thread, problem, depth, onPull, onBack, onClose, onCopy }: Props) {
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
            {thread.value} {unitSign(thread.unit)}{' '}
            <Button look="quiet" onPress={() => onCopy(`${thread.value} ${unitSign(thread.unit)}`.trim())}>
              Copy
            </Button>
          </p>
          {thread.formula && <p className="thread-formula">{thread.formula}</p>}
          {thread.source && <p className="thread-source">{thread.source}</p>}
          {thread.inputs.length > 0 && (
            <ul className="thread-inputs">
              {thread.inputs.map((input) => (
                <li key={`${input.key ?? ''}${input.name}${input.words}`}>
                  <span className="thread-name">{input.name}</span>
                  {input.key === null ? (
                    <span className="thread-number">
                      {input.value} {unitSign(input.unit)}
                    </span>
                  ) : (
                    <button
                      type="button"
                      className="thread-number digits-pull"
                      onClick={() => onPull(input.key!)}
                    >
                      {input.value} {unitSign(input.unit)}
                    </button>
                  )}
                  <small>{input.words}</small>
                </li>
              ))}
            </ul>
          )}
          {thread.readings && (
            <p>
              {`${thread.readings.count} readings of ${thread.readings.channel}, numbers ${thread.readings.firstSeq} to ${thread.readings.lastSeq}.`}
            </p>
          )}
        </>
      )}
    </aside>
  )
}
