import { askRecord } from '../desk/record.store.ts'
import { goTo } from '../page/page.ts'
import { Button } from '../parts/Button.tsx'
import { Empty } from '../parts/Empty.tsx'

/** Watch on a bench that has measured nothing yet. */
export function NothingYet() {
  return (
    <Empty
      title="Nothing is measured yet"
      buttons={
        <>
          <Button right="operate" look="main" onPress={() => goTo('plan')}>
            Plan a night
          </Button>
          <Button right="operate" onPress={() => askRecord()}>
            Record without a plan
          </Button>
        </>
      }
    >
      <p>
        Here every channel stands as a number and a line while a session runs: what it reads, how steady it
        is, and what is still missing. A session begins with a plan, or as a plain recording.
      </p>
    </Empty>
  )
}
