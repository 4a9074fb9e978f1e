import type { Clock } from '../../app/base/clock.ts'
import type { AnyInstrument, Meter, Scanner } from '../../app/instruments/faces.ts'
import type { Bench } from '../../app/records/bench.ts'
import type { Intake } from './intake.ts'
import { type Connection, Lane } from './lane.ts'
import type { StationLog } from './log.ts'
import { Turnstile } from './signals.ts'

export interface LanesParts {
  readonly bench: Bench
  readonly instruments: ReadonlyMap<string, AnyInstrument>
  readonly clock: Clock
  readonly intake: Intake
  readonly log: StationLog
}

/** One lane for each bridge or meter that has channels; scanners are shared between them. */
export function makeLanes({ bench, instruments, clock, intake, log }: LanesParts): Lane[] {
  const scanners = new Map<string, Scanner>()
  const turnstiles = new Map<string, Turnstile>()
  const connections = new Map<string, Connection>()
  for (const instrument of instruments.values()) {
    if (instrument.role !== 'scanner') continue
    scanners.set(instrument.id, instrument as Scanner)
    turnstiles.set(instrument.id, new Turnstile())
  }
  const lanes: Lane[] = []
  for (const instrument of instruments.values()) {
    if (instrument.role !== 'ratio-bridge' && instrument.role !== 'meter') continue
    const channels = bench.channels.filter((c) => c.enabled && c.instrument === instrument.id)
    if (channels.length === 0) continue
    lanes.push(
      new Lane({
        meter: instrument as Meter,
        channels,
        scanners,
        turnstiles,
        connections,
        clock,
        intake,
        scanEveryS: bench.scanEveryS,
        onFault: (fault) => log.error({ fault, instrument: instrument.id }, 'a lane failed and goes on'),
      }),
    )
  }
  return lanes
}

/** How long a plan waits for its instruments at the start. */
const PATIENCE_MS = 180_000
const LOOK_MS = 1_000

/** Waits until everything a bench uses is identified; says what is not when patience ends. */
export async function untilReady(
  bench: Bench,
  instruments: ReadonlyMap<string, AnyInstrument>,
  clock: Clock,
  signal: AbortSignal,
): Promise<string | undefined> {
  const used = new Set<string>()
  for (const channel of bench.channels) {
    if (!channel.enabled) continue
    used.add(channel.instrument)
    for (const { scanner } of channel.route) used.add(scanner)
  }
  if (bench.bath?.instrument !== undefined) used.add(bench.bath.instrument)
  const until = clock.now().monoUs + PATIENCE_MS * 1000
  for (;;) {
    const missing = [...used].filter((id) => instruments.get(id)?.status.state !== 'ready')
    if (missing.length === 0) return undefined
    if (clock.now().monoUs >= until) {
      const words = missing.map((id) => `${id} (${instruments.get(id)?.status.words ?? 'not on the bench'})`)
      return `The plan could not begin: ${words.join(', ')}.`
    }
    await clock.sleep(LOOK_MS, signal)
  }
}
