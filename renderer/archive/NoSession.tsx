import { goTo } from '../page/page.ts'
import { Button } from '../parts/Button.tsx'
import { Empty } from '../parts/Empty.tsx'
import { ImportButton } from './ImportButton.tsx'

/** The archive before the first session. */
export function NoSession({ onImport }: { onImport: (file: File) => void }) {
  return (
    <Empty
      title="No session has been kept yet"
      buttons={
        <>
          <Button look="main" onPress={() => goTo('plan')}>
            Plan a night
          </Button>
          <ImportButton onImport={onImport} />
        </>
      }
    >
      <p>
        Every session is one file that holds its readings as they came, the bench, the plan and the
        calibrations of its day. It appears here when it begins, and can be replayed and compared for as long
        as the file exists.
      </p>
    </Empty>
  )
}
