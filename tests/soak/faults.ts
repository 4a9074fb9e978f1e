import type { FaultKind, FaultOrder } from '../../simulator/faults/order.ts'
import type { Lab } from '../../simulator/lab.ts'
import { type RandomStream, randomStream } from '../../simulator/physics/randomness.ts'

/** What befalls the station itself rather than an instrument. */
export const STATION_FAULTS = ['core-restart', 'clock-step', 'disk-full'] as const
export type StationFault = (typeof STATION_FAULTS)[number]
export type SoakKind = FaultKind | StationFault

/** Faults of the wire, the values, the instruments and the bath that a night may meet. */
export const LAB_FAULTS = [
  'silence',
  'late',
  'half-line',
  'garbage',
  'bit-flip',
  'nul',
  'wrong-terminator',
  'previous-answer',
  'doubled',
  'repeat',
  'glued',
  'echo',
  'decimal-comma',
  'flood',
  'error-in-queue',
  'over-range',
  'not-a-number',
  'jump',
  'stuck',
  'connection-drop',
  'port-vanish',
  'power-cut',
  'runaway-heater',
  'no-cooling',
  'sensor-fault',
] as const satisfies readonly FaultKind[]

/** Kinds that end most nights; ordered seldom, so that the others are seen too. */
const GRAVE: readonly SoakKind[] = ['runaway-heater', 'no-cooling', 'sensor-fault']

export interface OrderedNight {
  readonly lab: readonly FaultOrder[]
  readonly station: readonly { kind: StationFault; atS: number; forS: number; byS: number }[]
}

/** The faults of one night, drawn from its seed: many at random moments of its first hours. */
export function drawFaults(
  seed: number,
  lab: Pick<Lab, 'endpoints' | 'bench'>,
  only?: readonly string[],
): OrderedNight {
  const stream = randomStream(seed, 'soak faults')
  const pick = <T>(list: readonly T[]): T => list[Math.floor(stream.uniform() * list.length)]!
  const kinds: readonly SoakKind[] = [...LAB_FAULTS, ...STATION_FAULTS].filter(
    (k) => !only || only.includes(k),
  )
  const count = kinds.length === 0 ? 0 : 6 + Math.floor(stream.uniform() * 20)
  const orders: FaultOrder[] = []
  const station: { kind: StationFault; atS: number; forS: number; byS: number }[] = []
  for (let i = 0; i < count; i++) {
    const kind = pick(kinds)
    if (GRAVE.includes(kind) && !only && stream.uniform() > 0.12) continue
    const atS = Math.round(60 + stream.uniform() * 12_000)
    if (isStationFault(kind)) {
      const byS = (stream.uniform() - 0.5) * 4 * 3600
      station.push({ kind, atS, forS: Math.round(5 + stream.uniform() * 600), byS })
    } else orders.push(labOrder(kind, atS, stream, lab, pick))
  }
  return { lab: orders, station: station.sort((a, b) => a.atS - b.atS) }
}

function isStationFault(kind: SoakKind): kind is StationFault {
  return (STATION_FAULTS as readonly string[]).includes(kind)
}

function labOrder(
  kind: FaultKind,
  atS: number,
  stream: RandomStream,
  lab: Pick<Lab, 'endpoints' | 'bench'>,
  pick: <T>(list: readonly T[]) => T,
): FaultOrder {
  const of = (...roles: string[]) => pick(lab.endpoints.filter((e) => roles.includes(e.role))).id
  const wired = () => of('ratio-bridge', 'scanner', 'bath')
  const thermometer = () => pick(lab.bench.channels).thermometer!
  const times = 1 + Math.floor(stream.uniform() * 20)
  const long = Math.round(5 + stream.uniform() ** 3 * 900)
  switch (kind) {
    case 'late':
      return { kind, atS, instrument: wired(), byS: 0.1 + stream.uniform() * 8, times }
    case 'flood':
      return { kind, atS, instrument: wired(), bytes: 200_000, times: 1 }
    case 'error-in-queue':
      return {
        kind,
        atS,
        instrument: of('ratio-bridge', 'scanner', 'bath'),
        number: -330,
        text: 'Self-test failed',
      }
    case 'over-range':
    case 'not-a-number':
      return { kind, atS, instrument: of('ratio-bridge'), thermometer: thermometer(), times }
    // A step smaller than the band while the bath travels looks like the thermometer itself: nobody could see it.
    case 'jump':
      return stream.uniform() < 0.5
        ? { kind, atS, instrument: of('ratio-bridge'), thermometer: thermometer(), by: 0.02, times: 1 }
        : { kind, atS, instrument: of('ratio-bridge'), thermometer: 'sprt-0147', by: 0.01, forS: long }
    case 'stuck':
      return { kind, atS, instrument: of('ratio-bridge'), thermometer: thermometer(), forS: long }
    case 'connection-drop':
      return { kind, atS, instrument: wired() }
    case 'port-vanish':
      return { kind, atS, instrument: wired(), forS: long }
    case 'power-cut':
      return { kind, atS, instrument: wired(), forS: long, link: pick(['kept', 'lost'] as const) }
    case 'runaway-heater':
    case 'no-cooling':
      return { kind, atS, instrument: of('bath') }
    case 'sensor-fault':
      return { kind, atS, instrument: of('bath'), forS: long }
    case 'drift':
      return {
        kind,
        atS,
        instrument: of('ratio-bridge'),
        thermometer: thermometer(),
        perHour: 0.001,
        forS: long,
      }
    case 'silence':
      return stream.uniform() < 0.3
        ? { kind, atS, instrument: wired(), forS: long }
        : { kind, atS, instrument: wired(), times }
    case 'late-packet':
      return { kind, atS, instrument: wired(), byS: 0.1 + stream.uniform() * 8, times }
    case 'service-requests':
      return { kind, atS, instrument: wired(), count: 200 * times }
    case 'locked-by-other':
      return { kind, atS, instrument: wired(), forS: long }
    case 'repeat':
      return { kind, atS, instrument: wired(), times, byS: 0.05 + 0.5 * stream.uniform() }
    default:
      return { kind, atS, instrument: wired(), times }
  }
}
