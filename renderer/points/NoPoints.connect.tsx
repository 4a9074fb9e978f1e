import { useStation } from '../client/state.ts'
import { EmptyBench } from '../desk/EmptyBench.connect.tsx'
import { goTo } from '../page/page.ts'
import { Button } from '../parts/Button.tsx'
import { Empty } from '../parts/Empty.tsx'

export function NoPoints() {
  const hasBench = useStation((state) => state?.bench !== null)
  if (!hasBench) return <EmptyBench />
  return (
    <Empty
      title="No points yet"
      buttons={
        <>
          <Button look="main" onPress={() => goTo('plan')}>
            Plan a night
          </Button>
          <Button onPress={() => goTo('archive')}>Open a past session</Button>
        </>
      }
    >
      <p>
        A point is one captured state of the bath: the mean, drift and standard deviation of every channel
        while all of it was settled. Points appear here one by one while a plan runs, and the fits grow with
        them.
      </p>
    </Empty>
  )
}
