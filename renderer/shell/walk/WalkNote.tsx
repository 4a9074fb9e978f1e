import type { Ref } from 'react'
import { Button } from '../../parts/Button.tsx'

interface Props {
  note: Ref<HTMLElement>
  /** 'Step 3 of 11, Plan'. */
  count: string
  title: string
  words: string
  why: string
  /** What takes the person to the control: 'Show me where', 'Go to Plan'; undefined at the end. */
  goWords: string | undefined
  onGo: () => void
  onLeaveOut: (() => void) | undefined
  onStop: () => void
  stopWords: string
}

/** A quiet note beside the control that comes next. Nothing waits behind it. */
export function WalkNote(props: Props) {
  const { note, count, title, words, why, goWords } = props
  return (
    <aside className="walk-note" aria-label="First walk" ref={note} tabIndex={-1}>
      <p className="walk-count">{`First walk. ${count}`}</p>
      <h2>{title}</h2>
      <p>{words}</p>
      <p className="walk-why">{why}</p>
      <p className="unseen" role="status">{`First walk. ${count}. ${title}. ${why}`}</p>
      <div className="row row-tight">
        {goWords && (
          <Button onPress={props.onGo} look="plain">
            {goWords}
          </Button>
        )}
        {props.onLeaveOut && (
          <Button look="quiet" onPress={props.onLeaveOut}>
            Leave this out
          </Button>
        )}
        <Button look="quiet" onPress={props.onStop}>
          {props.stopWords}
        </Button>
      </div>
    </aside>
  )
}
