/** What Points shows, as its address has it: #points/<session>, with /report or /point/<id> behind it. */
export interface PointsAddress {
  /** A session from the archive; null: the one that runs or ran last. */
  session: string | null
  report: boolean
  /** A point that is pointed at. */
  point: string | null
}

/** In an address for the session that runs or ran last. */
const NEWEST = 'newest'

export function readPointsPath([session, what, id]: readonly string[]): PointsAddress {
  return {
    session: session === undefined || session === NEWEST ? null : session,
    report: what === 'report',
    point: (what === 'point' && id) || null,
  }
}

export function pointsPath({ session, report, point }: PointsAddress): string[] {
  const behind = report ? ['report'] : point !== null ? ['point', point] : []
  return session === null && behind.length === 0 ? [] : [session ?? NEWEST, ...behind]
}

/** The address of what another session has. */
export const ofSession = (session: string | null): string[] =>
  pointsPath({ session, report: false, point: null })
