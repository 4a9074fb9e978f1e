import type { Chain } from '../../../app/comparison/chain.ts'
import { packColumns } from '../../../app/contract/columns.ts'
import { EXCLUDING_BITS } from '../../../app/records/mark.ts'
import { RAW_UNITS, type RawUnit } from '../../../app/records/reading.ts'
import { allanDeviations } from '../../../app/statistics/allan.ts'
import { describeSamples } from '../../../app/statistics/window.ts'
import type { Services } from '../services.ts'
import { blob, notFound, os } from './base.ts'

type Quantity = 'raw' | 'resistance' | 'temperature' | 'deviation'

/** Readings that statistics look at, at most: more than two days of one channel at one per second. */
const MOST_FOR_STATISTICS = 200_000

interface Scale {
  /** The quantity wanted, of a raw value at a time. */
  of(raw: number, utcUs: number): number
  unit: string
}

/** From a raw value to the quantity wanted, through the chain of the session's own register. */
function scaleOf(services: Services, session: string, channel: string, quantity: Quantity): Scale {
  const file = services.sessions.read(session)
  const chain = services.sessions.chains(session).get(channel)
  const [sample] = file.readings({ channel, most: 1 })
  const unit = sample?.unit ?? 'ratio'
  if (quantity === 'raw') return { of: (raw) => raw, unit }
  if (!chain) notFound(`This session has no channel "${channel}".`)
  const currentMa = sample?.currentMa ?? null
  const convert = (raw: number) => chain.convert(raw, asRawUnit(unit), currentMa)
  if (quantity === 'resistance') return { of: (raw) => convert(raw).signal, unit: signalUnit(chain) }
  if (quantity === 'temperature') return { of: (raw) => convert(raw).celsius, unit: 'degC' }
  const steps = file
    .events({ kinds: ['setpoint'] })
    .map(({ utcUs, data }) => ({ utcUs, celsius: Number(data.celsius) }))
    .filter(({ celsius }) => Number.isFinite(celsius))
  const setpointAt = (utcUs: number) => steps.findLast((step) => step.utcUs <= utcUs)?.celsius ?? Number.NaN
  return { of: (raw, utcUs) => (convert(raw).celsius - setpointAt(utcUs)) * 1000, unit: 'mK' }
}

const asRawUnit = (unit: string): RawUnit => RAW_UNITS.find((known) => known === unit) ?? '1'
const signalUnit = ({ signalUnit: unit }: Chain) => (unit === 'none' ? '' : unit)

export const historyRoutes = {
  overview: os.history.overview.handler(async ({ context, input, signal }) => {
    const { reader, store } = context.services
    const { t, min, max, mean, n } = await reader.overview(store.sessionPath(input.session), input, signal)
    const scale = scaleOf(context.services, input.session, input.channel, input.quantity)
    for (let i = 0; i < t.length; i++) {
      const at = t[i]! * 1e6
      const low = scale.of(min[i]!, at)
      const high = scale.of(max[i]!, at)
      // A chain may fall with its input (thermistors), so low and high may change places.
      min[i] = Math.min(low, high)
      max[i] = Math.max(low, high)
      mean[i] = scale.of(mean[i]!, at)
    }
    return blob(packColumns({ t, min, max, mean, n }, { unit: scale.unit }))
  }),

  readings: os.history.readings.handler(async ({ context, input, signal }) => {
    const { reader, store } = context.services
    const found = await reader.readings(store.sessionPath(input.session), input, signal)
    const scale = scaleOf(context.services, input.session, input.channel, input.quantity)
    return blob(
      packColumns(
        {
          seq: Uint32Array.from(found.seq),
          utcS: found.utcUs.map((us) => us / 1e6),
          value: found.value.map((raw, i) => scale.of(raw, found.utcUs[i]!)),
          marks: found.marks,
          raw: found.raw.map((raw) => raw.replaceAll('\n', ' ')),
        },
        { unit: scale.unit },
      ),
    )
  }),

  statistics: os.history.statistics.handler(async ({ context, input, signal }) => {
    const { reader, store } = context.services
    const query = { ...input, most: MOST_FOR_STATISTICS }
    const found = await reader.readings(store.sessionPath(input.session), query, signal)
    const scale = scaleOf(context.services, input.session, input.channel, input.quantity)
    const values: number[] = []
    const times: number[] = []
    for (const [i, raw] of found.value.entries()) {
      const value = (found.marks[i]! & EXCLUDING_BITS) === 0 ? scale.of(raw, found.utcUs[i]!) : Number.NaN
      if (!Number.isFinite(value)) continue
      values.push(value)
      times.push(found.monoUs[i]! / 1e6)
    }
    const leftOut = found.value.length - values.length
    if (values.length === 0) return { ...NOTHING, leftOut, unit: scale.unit }
    const described = describeSamples(times, values)
    const intervalS = times.length > 1 ? (times.at(-1)! - times[0]!) / (times.length - 1) : 0
    return {
      n: described.n,
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
          ? allanDeviations(values, intervalS).map(({ tau, deviation }) => ({ tauS: tau, deviation }))
          : [],
      unit: scale.unit,
    }
  }),

  events: os.history.events.handler(({ context, input }) =>
    context.services.sessions
      .read(input.session)
      .events({ ...(input.kinds && { kinds: input.kinds }), most: input.most }),
  ),
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
