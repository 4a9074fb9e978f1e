import { Button } from '../parts/Button.tsx'
import { Empty } from '../parts/Empty.tsx'
import { Problem } from '../parts/Problem.tsx'

interface Props {
  starting: boolean
  problem: string | undefined
  onSetUp: () => void
  onTry: () => void
  /** Undefined while the first walk goes on. */
  walkWords: string | undefined
  onWalk: () => void
  /** Undefined on the practice station itself. */
  onPractice: (() => void) | undefined
  opening: boolean
}

/** The first thing a new station shows, in every place that needs a bench. */
export function EmptyBench({
  starting,
  problem,
  onSetUp,
  onTry,
  walkWords,
  onWalk,
  onPractice,
  opening,
}: Props) {
  return (
    <Empty
      title="There is no bench yet"
      buttons={
        <>
          <Button right="operate" look="main" onPress={onSetUp}>
            Set up your bench
          </Button>
          <Button right="operate" onPress={onTry} disabled={starting}>
            {starting ? 'Starting the lab in a box' : 'Try it on the lab in a box'}
          </Button>
        </>
      }
    >
      <p>
        A bench says which instruments stand here, how they are reached, and which thermometer hangs on which
        input. Everything else in this window grows from it.
      </p>
      <p>
        The lab in a box is a made-up bench that runs on this computer: a bath, a ratio bridge, a scanner and
        some thermometers. It heats nothing and keeps the pace of a real bench.
      </p>
      <Problem words={problem} />
      {walkWords && (
        <div className="walk-offer">
          <p>
            New here? The first walk leads through a whole job on the lab in a box, from the people to a
            practice certificate, one deed at a time, beside the real controls. On a practice station of its
            own it takes about five minutes and leaves nothing behind; Escape stops it, and the list of
            commands takes it up again.
          </p>
          <div className="row">
            {onPractice && (
              <Button onPress={onPractice} disabled={opening}>
                {opening ? 'Opening the practice station' : 'Practise a whole job in five minutes'}
              </Button>
            )}
            <Button onPress={onWalk}>{walkWords}</Button>
          </div>
        </div>
      )}
    </Empty>
  )
}
