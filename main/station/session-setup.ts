import type { Bench } from '../../app/records/bench.ts'
import type { CellPlan } from '../../app/records/cell-plan.ts'
import type { Plan } from '../../app/records/plan.ts'
import type { SessionInfo, SessionSetup } from '../../app/records/session.ts'
import type { StationStore } from '../store/station-store.ts'
import { freshId } from './session-folder.ts'

export interface SessionWanted {
  readonly kind: SessionInfo['kind']
  readonly plan: Plan | null
  readonly cells?: CellPlan
  readonly operator: string
  readonly name?: string
  readonly note?: string
  readonly job?: SessionSetup['job']
  readonly items?: SessionSetup['items']
}

export interface SessionMakings {
  readonly store: StationStore
  readonly bench: Bench
  readonly profileTexts: Readonly<Record<string, string>>
  readonly program: string
  readonly programVersion: string
  readonly utcUs: number
}

const NO_LABORATORY: SessionSetup['laboratory'] = { name: '', address: [], country: 'XX' }

/** Everything a new session is given and keeps for ever: who, when, and bench, plan, register and profiles as they are now. */
export function newSession(
  wanted: SessionWanted,
  makings: SessionMakings,
): { info: SessionInfo; setup: SessionSetup } {
  const { store, bench, profileTexts, program, programVersion, utcUs } = makings
  const { kind, plan, cells, operator, name, note, job, items } = wanted
  return {
    info: {
      id: freshId(store, utcUs),
      station: store.station,
      name: name || plan?.name || 'Recording',
      kind,
      operator,
      startedUtcUs: utcUs,
      endedUtcUs: null,
      ending: null,
      endingReason: null,
      program,
      programVersion,
      note: note ?? '',
    },
    setup: {
      bench,
      plan,
      ...(cells && { cells }),
      register: {
        ...store.registerOfBench(bench),
        // Without them a plateau would be reduced as if nothing were known of its cell.
        ...(cells && {
          cells: store.records.some(
            'cell',
            cells.steps.map(({ cell }) => cell),
          ),
        }),
      },
      profiles: Object.fromEntries(
        bench.instruments.map(({ profile }) => [profile, profileTexts[profile] ?? '']),
      ),
      laboratory: store.settings()?.laboratory ?? NO_LABORATORY,
      job: job ?? null,
      ...(items && items.length > 0 && { items }),
    },
  }
}
