import type { Chain } from '../../../app/comparison/chain.ts'
import { packColumns } from '../../../app/contract/columns.ts'
import { isExcluded } from '../../../app/records/mark.ts'
import { allanDeviations } from '../../../app/statistics/allan.ts'
import { describeSamples } from '../../../app/statistics/window.ts'
import { markBits } from '../../station/live-ring.ts'
import type { SessionFile } from '../../store/session-file.ts'
import { blob, notFound, os } from './base.ts'

type Quantity = 'raw' | 'resistance' | 'temperature' | 'deviation'

/** Readings that statistics look at, at most: about a week at one per second. */
const MOST_FOR_STATISTICS = 600_000

interface Scale {
  of(raw: number): number
  unit: string
}

/** From a raw value to the quantity wanted, through the chain of the session's own register. */
export function scaleOf(
  file: SessionFile,
  chain: Chain | undefined,
  channel: string,
  quantity: Quantity,
): Scale {
  const [sample] = file.readings({ channel, most: 1 })
  const unit = sample?.unit ?? 'ratio'
  if (quantity === 'raw') return { of: (raw) => raw, unit }
  if (!chain) notFound(`This session has no channel "${channel}".`)
  const currentMa = sample?.currentMa ?? null
  if (quantity === 'resistance') {
    return { of: (raw) => chain.convert(raw, unit, currentMa).signal, unit: chain.signalUnit }
  }
  return { of: (raw) => chain.convert(raw, unit, currentMa).celsius, unit: 'degC' }
}

/** Setpoint in force at a time, from the session's own account. */
function setpointAt(file: SessionFile): (utcUs: number) => number {
  const steps = file
    .events({ kinds: ['setpoint'] })
    .map(({ utcUs, data }) => ({ utcUs, celsius: Number(data.celsius ?? data.setpointC ?? Number.NaN) }))
    .filter(({ celsius }) => Number.isFinite(celsius))
  return (utcUs) => steps.findLast((step) => step.utcUs <= utcUs)?.celsius ?? Number.NaN
}

export const historyRoutes = {
  overview: os.history.overview.handler(({ context, input }) => {
    const { sessions } = context.services
    const file = sessions.read(input.session)
    const { t, min, max, mean, n } = file.overview(input)
    const scale = scaleOf(
      file,
      sessions.chains(input.session).get(input.channel),
      input.channel,
      input.quantity,
    )
    const setpoint = input.quantity === 'deviation' ? setpointAt(file) : undefined
    for (let i = 0; i < t.length; i++) {
      const a = scale.of(min[i]!)
      const b = scale.of(max[i]!)
      const shift = setpoint ? setpoint(t[i]! * 1e6) : 0
      const factor = setpoint ? 1000 : 1
      min[i] = (Math.min(a, b) - shift) * factor
      max[i] = (Math.max(a, b) - shift) * factor
      mean[i] = (scale.of(mean[i]!) - shift) * factor
    }
    return blob(packColumns({ t, min, max, mean, n }, { unit: setpoint ? 'mK' : scale.unit }))
  }),

  readings: os.history.readings.handler(({ context, input }) => {
    const { sessions } = context.services
    const file = sessions.read(input.session)
    const scale = scaleOf(
      file,
      sessions.chains(input.session).get(input.channel),
      input.channel,
      input.quantity,
    )
    const rows = file.readings(input)
    const setpoint = input.quantity === 'deviation' ? setpointAt(file) : undefined
    return blob(
      packColumns(
        {
          seq: Uint32Array.from(rows, (row) => row.seq),
          utcS: Float64Array.from(rows, (row) => row.utcUs / 1e6),
          value: Float64Array.from(rows, (row) => {
            if (row.value === null) return Number.NaN
            const value = scale.of(Number(row.value))
            return setpoint ? (value - setpoint(row.utcUs)) * 1000 : value
          }),
          marks: Uint32Array.from(rows, (row) => markBits(row.marks)),
          raw: rows.map((row) => row.raw.replaceAll('\n', ' ')),
        },
        { unit: setpoint ? 'mK' : scale.unit },
      ),
    )
  }),

  statistics: os.history.statistics.handler(({ context, input }) => {
    const { sessions } = context.services
    const file = sessions.read(input.session)
    const scale = scaleOf(
      file,
      sessions.chains(input.session).get(input.channel),
      input.channel,
      input.quantity,
    )
    const setpoint = input.quantity === 'deviation' ? setpointAt(file) : undefined
    const rows = file.readings({ ...input, most: MOST_FOR_STATISTICS })
    const counted = rows.filter((row) => row.value !== null && !isExcluded(row.marks))
    const value = (row: (typeof rows)[number]) => {
      const scaled = scale.of(Number(row.value))
      return setpoint ? (scaled - setpoint(row.utcUs)) * 1000 : scaled
    }
    const values = counted.map(value).filter((v) => Number.isFinite(v))
    const times = counted.filter((row) => Number.isFinite(value(row))).map((row) => row.monoUs / 1e6)
    const unit = setpoint ? 'mK' : scale.unit
    if (values.length === 0) {
      return {
        n: 0,
        leftOut: rows.length,
        mean: null,
        sd: null,
        nEffective: null,
        standardError: null,
        driftPerMin: null,
        driftUncertaintyPerMin: null,
        span: null,
        allan: [],
        unit,
      }
    }
    const described = describeSamples(times, values)
    const interval = times.length > 1 ? (times.at(-1)! - times[0]!) / (times.length - 1) : 0
    const real = (x: number) => (Number.isFinite(x) ? x : null)
    return {
      n: described.n,
      leftOut: rows.length - described.n,
      mean: real(described.mean),
      sd: real(described.sd),
      nEffective: real(described.nEffective),
      standardError: real(described.standardError),
      driftPerMin: real(described.drift * 60),
      driftUncertaintyPerMin: real(described.driftUncertainty * 60),
      span: real(described.span),
      allan:
        interval > 0
          ? allanDeviations(values, interval).map(({ tau, deviation }) => ({ tauS: tau, deviation }))
          : [],
      unit,
    }
  }),

  events: os.history.events.handler(({ context, input }) =>
    context.services.sessions
      .read(input.session)
      .events({ ...(input.kinds && { kinds: input.kinds }), most: input.most }),
  ),
}
