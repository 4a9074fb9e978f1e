import { useLab } from '../desk/lab.ts'
import { Button } from '../parts/Button.tsx'
import { Empty } from '../parts/Empty.tsx'
import { Problem } from '../parts/Problem.tsx'

/** A register without records: what belongs here, and how it comes. */
export function EmptyShelf({ one, onNew }: { one: string; onNew: () => void }) {
  const lab = useLab()
  return (
    <Empty
      title={`No ${one} is in the register yet`}
      buttons={
        <>
          <Button look="main" onPress={onNew}>
            {`Enter the first ${one}`}
          </Button>
          <Button onPress={lab.start} disabled={lab.starting}>
            Try it on the lab in a box
          </Button>
        </>
      }
    >
      <p>
        The register keeps what outlasts a session: thermometers, resistors, instruments, cells and fluids,
        each with its dated calibrations. Only who keeps the records changes it, and the ledger keeps every
        change. The lab in a box brings records of its own.
      </p>
      <Problem words={lab.problem} />
    </Empty>
  )
}
