import { statSync } from 'node:fs'
import { type Approach, approachOf, type EarlierNight, earlierNight } from '../../app/plan/earlier-night.ts'
import type { Bench } from '../../app/records/bench.ts'
import { isExcluded } from '../../app/records/mark.ts'
import { ComparisonError } from '../../app/results/uncertainty-error.ts'
import type { BudgetTemplate } from '../../app/results/uncertainty-template.ts'
import { StatisticsError } from '../../app/statistics/errors.ts'
import { ThermometryError } from '../../app/thermometry/errors.ts'
import { StoreError } from '../store/errors.ts'
import { openSessionFile, type SessionFile } from '../store/session-file.ts'
import { analyseSession, sessionChains } from './report/session-content.ts'

/** Nights that a foretelling rests on; older ones tell of a bath as it was. */
const MOST_NIGHTS = 6
/** Readings of an approach to a temperature that its time constant is taken from. */
const MOST_READINGS = 4_000
/** What a thread remembers, so that a plan that is edited is not read for anew each time. */
const MOST_KEPT = 40

const kept = new Map<string, EarlierNight | null>()

/** What the newest nights on a bench showed, of the sessions at these paths, the newest first. */
export function earlierNights(
  paths: readonly string[],
  bench: Bench,
  templates: readonly BudgetTemplate[],
  goOn: () => void = () => undefined,
): EarlierNight[] {
  const nights: EarlierNight[] = []
  for (const path of paths) {
    goOn()
    const night = nightAt(path, bench, templates)
    if (night) nights.push(night)
    if (nights.length === MOST_NIGHTS) break
  }
  return nights
}

function nightAt(path: string, bench: Bench, templates: readonly BudgetTemplate[]): EarlierNight | null {
  const modified = statSync(path, { throwIfNoEntry: false })?.mtimeMs
  if (modified === undefined) return null
  const key = JSON.stringify([path, modified, bench.id, bench.bath?.name, templates.map((t) => t.id)])
  const known = kept.get(key)
  if (known !== undefined) return known
  const found = read(path, bench, templates)
  kept.set(key, found)
  if (kept.size > MOST_KEPT) kept.delete(kept.keys().next().value!)
  return found
}

/** null: no night on this bench and this bath, or one that tells nothing. */
function read(path: string, bench: Bench, templates: readonly BudgetTemplate[]): EarlierNight | null {
  try {
    const file = openSessionFile(path, { mode: 'read' })
    try {
      const { info, setup } = file
      const isNight = info.kind === 'comparison' && info.ending?.startsWith('complete') === true
      if (!isNight || setup.bench.id !== bench.id || setup.bench.bath?.name !== bench.bath?.name) return null
      const analysis = analyseSession(file, {
        ...{ templates, monteCarloTrials: 0, interpolationStepK: 1e4, bandSteps: 0 },
      })
      return earlierNight(analysis, approaches(file, analysis.reference.record.channel.id))
    } finally {
      file.close()
    }
  } catch (fault) {
    // A session that cannot be read or analysed has nothing to teach; the archive says what is wrong with it.
    if (
      fault instanceof StoreError ||
      fault instanceof ComparisonError ||
      fault instanceof StatisticsError ||
      fault instanceof ThermometryError
    )
      return null
    throw fault
  }
}

/** How fast the reference came to each temperature. */
export function approaches(file: SessionFile, channel: string) {
  const chain = sessionChains(file).get(channel)
  return (fromUtcUs: number, toUtcUs: number): Approach => {
    if (!chain) return approachOf([], [])
    const readings = file
      .readings({ channel, fromUtcUs, toUtcUs, most: MOST_READINGS })
      .filter((r) => r.value !== null && !isExcluded(r.marks))
    const timesS = readings.map((r) => r.monoUs / 1e6)
    return approachOf(
      timesS,
      readings.map((r) => chain.convert(Number(r.value), r.unit, r.currentMa).celsius),
    )
  }
}
