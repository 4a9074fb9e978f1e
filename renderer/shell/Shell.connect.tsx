import { lazy, Suspense, useEffect, useState } from 'react'
import { useJoining, useStation } from '../client/state.ts'
import { goTo, page, usePage } from '../page/page.ts'
import { GUIDE_OF, PLACES, type Place } from '../page/places.ts'
import { RunNow } from '../plan/Run.connect.tsx'
import { QuestionNow, RunAskNow } from '../plan/RunAsk.connect.tsx'
import { ValidationBand } from '../register/settings/Validation.connect.tsx'
import { RecordNow } from '../watch/Record.connect.tsx'
import { StripNow } from '../watch/Strip.connect.tsx'
import { WallView, Watch } from '../watch/Watch.connect.tsx'
import { AlarmBand } from './Alarms.connect.tsx'
import { CommandListNow } from './CommandList.connect.tsx'
import { DoorNow, PersonNow } from './Person.connect.tsx'
import { Rail } from './Rail.tsx'
import { RoomGuard } from './RoomGuard.tsx'
import { Shell } from './Shell.tsx'
import { StateLineNow } from './StateLine.connect.tsx'
import { ThreadDrawer } from './Thread.connect.tsx'
import { WalkNow } from './walk/Walk.connect.tsx'

// Watch is what must be there first; the rest is fetched while nothing else is to be done, so that a place can still be
// opened when the station is away for a moment.
const FETCH = {
  orders: () => import('../sheet/Orders.connect.tsx'),
  bench: () => import('../bench/Bench.connect.tsx'),
  plan: () => import('../plan/Plan.connect.tsx'),
  points: () => import('../points/Points.connect.tsx'),
  archive: () => import('../archive/Archive.connect.tsx'),
  register: () => import('../register/Register.connect.tsx'),
  wire: () => import('../wire/Wire.connect.tsx'),
  laboratory: () => import('../laboratory/Laboratory.connect.tsx'),
}
const rooms = new Map<string, ReturnType<typeof lazy>>()

/** A place's room; a new attempt at fetching it for each round. */
function roomOf(place: Exclude<Place, 'watch'>, round: number): ReturnType<typeof lazy> {
  const key = `${place} ${round}`
  let room = rooms.get(key)
  if (!room) {
    room = lazy(FETCH[place])
    rooms.set(key, room)
  }
  return room
}

const FETCH_AFTER_MS = 3000

function useRoomsFetched(): void {
  useEffect(() => {
    // What fails now is fetched when its place is opened; that place then says what is wrong.
    const timer = setTimeout(() => {
      for (const fetch of Object.values(FETCH)) fetch().catch(() => undefined)
    }, FETCH_AFTER_MS)
    return () => clearTimeout(timer)
  }, [])
}

// What asks for a person, above every place.
const BANDS = (
  <>
    <AlarmBand />
    <QuestionNow />
    <RunNow />
    <ValidationBand />
  </>
)

export function Window() {
  useRoomsFetched()
  const place = usePage((state) => state.place)
  const wall = usePage((state) => state.wall)
  const heard = useStation((state) => state !== undefined)
  const { words } = useJoining()
  const [round, setRound] = useState(0)
  const Room = place === 'watch' ? Watch : roomOf(place, round)
  if (wall && heard) return <WallView />
  return (
    <>
      <Shell
        title={PLACES.find(({ id }) => id === place)!.name}
        strip={<StripNow />}
        rail={
          <Rail
            place={place}
            counts={{}}
            onGo={goTo}
            onHelp={() => page.setState({ guideOpen: GUIDE_OF[place] })}
          />
        }
        walk={<WalkNow />}
        alarms={BANDS}
        thread={<ThreadDrawer />}
        line={<StateLineNow />}
        curtain={heard ? undefined : words}
      >
        <RoomGuard place={place} onAgain={() => setRound(round + 1)}>
          <Suspense fallback={<p className="curtain">Opening</p>}>
            <Room />
          </Suspense>
        </RoomGuard>
      </Shell>
      <CommandListNow />
      <RecordNow />
      <RunAskNow />
      <PersonNow />
      <DoorNow />
    </>
  )
}
