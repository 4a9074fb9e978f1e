import { useMemo } from 'react'
import { useStation } from '../client/state.ts'
import { goTo, page } from '../page/page.ts'
import { NightStrip } from '../signs/NightStrip.tsx'
import { stripPicture } from '../signs/night.model.ts'
import { lookAt, useLooked } from './watch.store.ts'

/** The night strip of the running session; going to a moment means looking at it on Watch. */
export function StripNow() {
  const strip = useStation((state) => state?.strip)
  const start = useStation((state) => state?.runner.startedUtcUs ?? null)
  const expected = useStation((state) => state?.runner.expectedEndUtcUs ?? null)
  const ended = useStation((state) => state?.runner.phase === 'ended')
  // An ended night ends with its last mark, however long ago that was.
  const end = ended ? start : expected
  // A strip of a night needs no finer hand than ten seconds.
  const nowUtcUs = useStation((state) => Math.floor((state?.utcUs ?? 0) / 1e7) * 1e7)
  const picture = useMemo(
    () => stripPicture(strip ?? [], start, end, nowUtcUs),
    [strip, start, end, nowUtcUs],
  )
  const looked = useLooked(picture)
  return (
    <NightStrip
      picture={picture}
      looked={looked}
      onGo={(fromUtcUs, toUtcUs) => {
        lookAt(fromUtcUs / 1e6, toUtcUs === undefined ? undefined : toUtcUs / 1e6)
        if (page.getState().place !== 'watch') goTo('watch')
      }}
    />
  )
}
