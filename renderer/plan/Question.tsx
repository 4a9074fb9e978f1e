import { Button } from '../parts/Button.tsx'

interface Props {
  words: string
  choices: readonly string[]
  onAnswer: (choice: string) => void
}

/** What the night asks of a person before it can go on. */
export function Question({ words, choices, onAnswer }: Props) {
  return (
    <section className="question" role="alert" aria-label="The session asks">
      <p>{words}</p>
      <div className="row">
        {choices.map((choice) => (
          <Button key={choice} look="main" onPress={() => onAnswer(choice)}>
            {choice}
          </Button>
        ))}
      </div>
    </section>
  )
}
