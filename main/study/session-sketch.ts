import { at } from '../../app/base/lists.ts'
import { utcDay } from '../../app/base/times.ts'
import { buildChains } from '../../app/live/chain.ts'
import { ChainError } from '../../app/live/chain-error.ts'
import { RAW_UNITS } from '../../app/records/reading.ts'
import { gridOf } from '../store/overview.ts'
import type { SessionFile } from '../store/session-file.ts'

const MOST_BUCKETS = 200
/** Readings a stretch should hold on average, so that an interval between two of them is not taken for a gap. */
const PER_BUCKET = 2

/**
 * The small picture of a session in the list: the temperature of its reference in up to 200 equal stretches, null where
 * nothing was measured. Where no reference has a calibration another channel stands in for it, at last by its raw value:
 * a picture this small shows a shape, no figures. Empty where a session holds no number.
 */
export function sketchOf(file: SessionFile): (number | null)[] {
  const { setup, info } = file
  const date = utcDay(info.startedUtcUs)
  const chains = chainsOf({ bench: setup.bench, register: setup.register, date })
  const channels = setup.bench.channels.toSorted(
    (a, b) => Number(b.role === 'reference') - Number(a.role === 'reference'),
  )
  let raw: (number | null)[] = []
  for (const { id } of channels) {
    const means = meansOf(file, id)
    const [sample] = file.readings({ channel: id, most: 1 })
    if (means.length === 0 || !sample) continue
    const unit = RAW_UNITS.find((known) => known === sample.unit) ?? '1'
    const chain = chains.get(id)
    const celsius = means.map((mean) =>
      mean === null ? null : finite(chain?.convert(mean, unit, sample.currentMa).celsius),
    )
    if (celsius.some((value) => value !== null)) return celsius
    if (raw.length === 0) raw = means
  }
  return raw
}

/** None where the register of the day does not give them, as with a resistor without a calibration: raw values then stand in. */
function chainsOf(parts: Parameters<typeof buildChains>[0]): ReturnType<typeof buildChains> {
  try {
    return buildChains(parts)
  } catch (fault) {
    if (!(fault instanceof ChainError)) throw fault
    return new Map()
  }
}

function meansOf(file: SessionFile, channel: string): (number | null)[] {
  const { lastUtcUs, info } = file
  if (lastUtcUs === null) return []
  const stretch = { fromUtcUs: info.startedUtcUs, toUtcUs: Math.max(lastUtcUs, info.startedUtcUs) }
  const wanted = (buckets: number) => file.overview({ channel, ...stretch, buckets })
  const fine = wanted(MOST_BUCKETS)
  const readings = fine.n.reduce((sum, n) => sum + n, 0)
  if (readings === 0) return []
  const buckets = Math.max(1, Math.min(MOST_BUCKETS, Math.floor(readings / PER_BUCKET)))
  const { t, mean } = buckets === MOST_BUCKETS ? fine : wanted(buckets)
  const { originUtcUs, widthUs } = gridOf(stretch.fromUtcUs, stretch.toUtcUs, buckets)
  const placeOf = (utcUs: number) => Math.floor((utcUs - originUtcUs) / widthUs)
  const means: (number | null)[] = Array.from({ length: placeOf(stretch.toUtcUs) + 1 }, () => null)
  for (const [i, seconds] of t.entries()) means[placeOf(seconds * 1e6)] = at(mean, i)
  return means
}

const finite = (value: number | undefined) => (value !== undefined && Number.isFinite(value) ? value : null)
