import { useState } from 'react'
import { Ask } from '../parts/Ask.tsx'
import { Button } from '../parts/Button.tsx'

interface Props {
  words: string
  choices: readonly string[]
  /** What follows where the answer ends the session. */
  stopWords: string
  onAnswer: (choice: string) => void
}

const stops = (choice: string): boolean => /^stop/i.test(choice)

/** What the night asks of a person before it can go on. */
export function Question({ words, choices, stopWords, onAnswer }: Props) {
  const [stopping, setStopping] = useState<string | null>(null)
  return (
    <section className="question" role="alert" aria-label="The session asks">
      <p>{words}</p>
      <div className="row">
        {choices.map((choice, i) => (
          <Button
            key={choice}
            right="operate"
            look={stops(choice) ? 'danger' : i === 0 ? 'main' : 'plain'}
            onPress={() => (stops(choice) ? setStopping(choice) : onAnswer(choice))}
          >
            {choice}
          </Button>
        ))}
      </div>
      {stopping && (
        <Ask
          title={stopping}
          act={stopping}
          danger
          onAct={() => {
            setStopping(null)
            onAnswer(stopping)
          }}
          onClose={() => setStopping(null)}
        >
          <p>{stopWords}</p>
        </Ask>
      )}
    </section>
  )
}
