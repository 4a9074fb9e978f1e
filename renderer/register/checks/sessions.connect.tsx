import { counted } from '../../../app/base/plural.ts'
import { useAnswer } from '../../client/ask.ts'
import { station } from '../../client/connect.ts'
import { useStation } from '../../client/state.ts'
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
  known: boolean
  problem: string | undefined
} {
  const version = useStation((state) => state?.versions.sessions)
  const { data, problem } = useAnswer(() => station.archive.sessions({ most: 300 }), [version])
  const sessions = (data ?? [])
    .filter(({ damaged, readings }) => damaged === null && readings > 0)
    .map(({ info, channels, points }) => ({
      id: info.id,
      name: `${localDate(info.startedUtcUs)} ${info.name}`,
      about: `${counted(channels.length, 'channel')}, ${counted(points, 'point')}`,
      startedUtcUs: info.startedUtcUs,
      points,
    }))
  return { sessions, known: data !== undefined, problem }
}

/** What a session was set up with. */
export const useSetup = (session: string) =>
  useAnswer(session === '' ? undefined : () => station.archive.open({ session }), [session])

export const useRegister = () => {
  const version = useStation((state) => state?.versions.register)
  return useAnswer(() => station.register.get(), [version]).data
}
