import { MARK_NAMES, MARKS } from '../../app/records/mark.ts'
import { allanDeviations } from '../../app/statistics/allan.ts'
import { describeSamples } from '../../app/statistics/window.ts'
import { chainsOf, type Quantity, scaleOf } from './quantity.ts'
import type { SessionFile } from './session-file.ts'

export interface StretchQuery {
  channel: string
  quantity: Quantity
  fromUtcUs?: number | undefined
  toUtcUs?: number | undefined
}

/** What a stretch of one channel says about a quantity; null where there is no answer. Units of the quantity, min and s. */
export interface StretchStatistics {
  n: number
  leftOut: number
  mean: number | null
  sd: number | null
  nEffective: number | null
  standardError: number | null
  driftPerMin: number | null
  driftUncertaintyPerMin: number | null
  span: number | null
  allan: { tauS: number; deviation: number }[]
  unit: string
}

const EXCLUDING = MARK_NAMES.filter((mark) => MARKS[mark].excludes)

/**
 * Statistics of every reading of a stretch that counts, however many they are: each one converted by itself, none
 * thinned out and none taken from a summary. `goOn` is called now and then and may throw to give up.
 */
export function stretchStatistics(
  file: SessionFile,
  query: StretchQuery,
  goOn: () => void = () => undefined,
): StretchStatistics {
  const { channel, quantity } = query
  const scale = scaleOf(file, quantity === 'raw' ? undefined : chainsOf(file).get(channel), channel, quantity)
  const found = file.columns(query, goOn)
  const { sources } = file.numbering
  const excluding = file.numbering.knownBits(EXCLUDING)
  const values = new Float64Array(found.count)
  const times = new Float64Array(found.count)
  let n = 0
  for (let i = 0; i < found.count; i++) {
    if ((found.marks[i]! & excluding) !== 0) continue
    const { unit, currentMa } = sources[found.source[i]! - 1]!
    const value = scale.of(found.value[i]!, found.utcUs[i]!, unit, currentMa)
    if (!Number.isFinite(value)) continue
    values[n] = value
    times[n] = found.monoUs[i]! / 1e6
    n += 1
  }
  const leftOut = found.count - n
  if (n === 0) return { ...NOTHING, leftOut, unit: scale.unit }
  goOn()
  const counting = values.subarray(0, n)
  const described = describeSamples(times.subarray(0, n), counting)
  const intervalS = n > 1 ? (times[n - 1]! - times[0]!) / (n - 1) : 0
  return {
    n,
    leftOut,
    mean: real(described.mean),
    sd: real(described.sd),
    nEffective: real(described.nEffective),
    standardError: real(described.standardError),
    driftPerMin: real(described.drift * 60),
    driftUncertaintyPerMin: real(described.driftUncertainty * 60),
    span: real(described.span),
    allan:
      intervalS > 0
        ? allanDeviations(counting, intervalS).map(({ tau, deviation }) => ({ tauS: tau, deviation }))
        : [],
    unit: scale.unit,
  }
}

const real = (x: number) => (Number.isFinite(x) ? x : null)

const NOTHING = {
  n: 0,
  mean: null,
  sd: null,
  nEffective: null,
  standardError: null,
  driftPerMin: null,
  driftUncertaintyPerMin: null,
  span: null,
  allan: [],
}
