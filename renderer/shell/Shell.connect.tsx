import { lazy, Suspense } from 'react'
import { useJoining, useStation } from '../client/state.ts'
import { WallView, Watch } from '../watch/Watch.connect.tsx'
import { AlarmBand } from './Alarms.connect.tsx'
import { CommandListNow } from './CommandList.connect.tsx'
import { goTo, usePage } from './page.ts'
import { PLACES, type Place } from './places.ts'
import { Rail } from './Rail.tsx'
import { Shell } from './Shell.tsx'
import { StateLineNow } from './StateLine.connect.tsx'
import { StripNow } from './Strip.connect.tsx'
import { ThreadDrawer } from './Thread.connect.tsx'

// Watch is what must be there first; the rest comes when it is asked for.
const ROOMS: Record<Exclude<Place, 'watch'>, ReturnType<typeof lazy>> = {
  bench: lazy(() => import('../bench/Bench.connect.tsx')),
  plan: lazy(() => import('../plan/Plan.connect.tsx')),
  points: lazy(() => import('../points/Points.connect.tsx')),
  archive: lazy(() => import('../archive/Archive.connect.tsx')),
  register: lazy(() => import('../register/Register.connect.tsx')),
  wire: lazy(() => import('../wire/Wire.connect.tsx')),
}

export function Window() {
  const place = usePage((state) => state.place)
  const wall = usePage((state) => state.wall)
  const heard = useStation((state) => state !== undefined)
  const { words } = useJoining()
  const Room = place === 'watch' ? Watch : ROOMS[place]
  if (wall && heard) return <WallView />
  return (
    <>
      <Shell
        title={PLACES.find(({ id }) => id === place)!.name}
        strip={<StripNow />}
        rail={<Rail place={place} counts={{}} onGo={goTo} />}
        alarms={<AlarmBand />}
        thread={<ThreadDrawer />}
        line={<StateLineNow />}
        curtain={heard ? undefined : words}
      >
        <Suspense fallback={<p className="curtain">Opening</p>}>
          <Room />
        </Suspense>
      </Shell>
      <CommandListNow />
    </>
  )
}
