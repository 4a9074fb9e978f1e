import { useState } from 'react'
import { counted } from '../../../app/base/plural.ts'
import { useAnswer } from '../../client/ask.ts'
import { station } from '../../client/connect.ts'
import { usePages } from '../../client/pages.ts'
import { useStation } from '../../client/state.ts'
import type { Finder } from '../../parts/Choice.tsx'
import { localDate } from '../../text/times.ts'

export interface SessionChoice {
  id: string
  name: string
  about: string
  startedUtcUs: number
  points: number
}

/** Recorded sessions to choose from, the newest first. */
export function useSessions(): {
  sessions: readonly SessionChoice[]
  /** Where there are more sessions than are offered. */
  finder: Finder | undefined
  known: boolean
  problem: string | undefined
} {
  const version = useStation((state) => state?.versions.sessions)
  const [typed, onTyped] = useState('')
  const { rows, total, problem } = usePages(
    (page) => station.archive.sessions({ search: typed, ...page }),
    [typed],
    version,
    200,
  )
  const sessions = rows
    .filter(({ damaged, readings }) => damaged === null && readings > 0)
    .map(({ info, channels, points }) => ({
      id: info.id,
      name: `${localDate(info.startedUtcUs)} ${info.name}`,
      about: `${counted(channels.length, 'channel')}, ${counted(points, 'point')}`,
      startedUtcUs: info.startedUtcUs,
      points,
    }))
  const finder =
    typed !== '' || (total ?? 0) > rows.length
      ? { typed, onTyped, words: `${rows.length} of ${total ?? 0}, the newest first.` }
      : undefined
  return { sessions, finder, known: total !== undefined, problem }
}

/** What a session was set up with. */
export const useSetup = (session: string) =>
  useAnswer(session === '' ? undefined : () => station.archive.open({ session }), [session])
