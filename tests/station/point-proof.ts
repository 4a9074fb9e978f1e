import { cpSync } from 'node:fs'
import { join } from 'node:path'
import type { Register } from '../../app/records/register.ts'
import { buildReport } from '../../app/report/content.ts'
import { comparePoints } from '../../app/report/proof.ts'
import { analyse } from '../../app/results/analysis.ts'
import { openSessionFile, type SessionFile } from '../../main/store/session-file.ts'
import { compareWithNow } from '../../main/study/compare-results.ts'
import { proveSession } from '../../main/study/report/prove.ts'
import {
  rebuildDoubts,
  rebuildPoint,
  sessionChains,
  sessionContent,
} from '../../main/study/report/session-content.ts'
import { SCENARIOS } from '../../simulator/scenarios/index.ts'
import type { ScenarioName } from '../../simulator/scenarios/scenario.ts'
import { exampleClock } from '../store/example-data.ts'
import { planOf } from './box.ts'
import { type Recorded, recordNight } from './replay-night.ts'

/** The lab's arrangements that compare: those with a reference on their bench. */
export const COMPARING = (Object.keys(SCENARIOS) as ScenarioName[]).filter((name) =>
  SCENARIOS[name].thermometers.some(({ role }) => role === 'reference' && SCENARIOS[name].bench.bath),
)

/** A short night of a scenario: two setpoints, pairs at one of them, an order that differs with the seed. */
export function shortNight(scenario: ScenarioName, seed: number): Promise<Recorded> {
  const { lowC, highC } = SCENARIOS[scenario].bench
  const at = (part: number) => Math.round(lowC + part * (highC - lowC))
  const plan = planOf([at(0.25), at(0.35)], {
    order: (['symmetric', 'interleaved', 'sequence'] as const)[seed % 3]!,
    cycles: 1 + (seed % 3),
    maxWaitS: 1800,
  })
  // A scan of many channels takes minutes: the window must hold several.
  const many = SCENARIOS[scenario].channels.length > 20
  const settling = many ? { ...plan.settling, windowS: 1500, holdS: 60 } : plan.settling
  const setpoints = plan.setpoints.map((s, i) => ({ ...s, selfHeating: i > 0 && !many }))
  return recordNight(
    { ...plan, settling, setpoints: many ? setpoints.slice(0, 1) : setpoints },
    { scenario, seed },
  )
}

/** What was not the same when a session was computed again though nothing of weight had changed. */
export interface Unlike {
  readonly proved: readonly string[]
  readonly replayed: readonly string[]
  readonly amended: readonly string[]
  readonly doubts: readonly string[]
  /** As the points would be made again if they did not name their readings, as those of older forms. */
  readonly asOlder: readonly string[]
}

/** Proves, replays with nothing changed, and amends a remark of a certificate. */
export function computeAgain({ path, folder }: Recorded): { points: number; unlike: Unlike } {
  const copy = join(folder, 'amended.stillpoint')
  cpSync(path, copy)
  const session = openSessionFile(path, { mode: 'read' })
  const amended = openSessionFile(copy, { mode: 'write', clock: exampleClock() })
  try {
    const proved = proveSession(session, null).pointDifferences.map(
      ({ key, stored, computed }) => `${key}: ${stored}, ${computed}`,
    )
    const { register } = session.setup
    const replayed = compareWithNow(session, register).lines.flatMap((l) => (l.changed ? [l.key] : []))
    return {
      points: session.points().length,
      unlike: {
        proved,
        replayed,
        amended: amendRemark(session, amended),
        doubts: rebuildDoubts(session),
        asOlder: madeAsOlder(session),
      },
    }
  } finally {
    session.close()
    amended.close()
  }
}

function madeAsOlder(session: SessionFile): string[] {
  const chains = sessionChains(session)
  // Pairs of currents are read in another order than those of older sessions were: the rule says nothing of such points.
  const plain = session
    .points()
    .filter((p) => p.channels.every(({ selfHeatingMk }) => selfHeatingMk === null))
  return plain.flatMap((point) => {
    const { readings: _readings, ...older } = point
    return comparePoints(point, rebuildPoint(session, chains, older)).map(({ key }) => key)
  })
}

/** Numbers that another remark on the reference's certificate changes. */
function amendRemark(session: SessionFile, amended: SessionFile): string[] {
  const reference = session.setup.bench.channels.find(({ role }) => role === 'reference')!.thermometer
  const entry = structuredClone(session.setup.register.thermometers.find(({ id }) => id === reference)!)
  entry.calibrations[0]!.note = 'its remark was misspelt'
  const register: Partial<Register> = { thermometers: [entry] }
  amended.commit({
    events: [
      {
        utcUs: session.info.endedUtcUs!,
        monoUs: 2 ** 42,
        kind: 'amendment',
        who: 'A. Person',
        subject: null,
        words: 'A remark was put right.',
        data: { register, why: 'a remark' },
      },
    ],
  })
  const then = numbersOf(session)
  const now = numbersOf(amended)
  return Object.keys(then).filter((key) => !Object.is(then[key]!.exact, now[key]?.exact))
}

const numbersOf = (session: SessionFile) => buildReport(analyse(sessionContent(session))).numbers
