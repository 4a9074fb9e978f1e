import { asTold } from '../../app/messages/said.ts'
import type { Plan } from '../../app/records/plan.ts'
import type { Point, PointChannel } from '../../app/records/point.ts'
import type { Reading } from '../../app/records/reading.ts'
import type { Finished, Station } from '../../main/station/station.ts'
import { StoreError } from '../../main/store/errors.ts'
import { openSessionFile, type SessionFile } from '../../main/store/session-file.ts'
import type { LabBus } from '../../simulator/buses/lab-buses.ts'
import type { Lab } from '../../simulator/lab.ts'
import { randomStream } from '../../simulator/physics/randomness.ts'
import { resistanceOf } from '../../simulator/physics/sensors.ts'
import { type Box, openBox, planOf } from '../station/box.ts'
import { drawFaults, type OrderedNight } from './faults.ts'

export interface NightResult {
  readonly seed: number
  readonly ending: Finished['ending'] | 'hung' | 'crashed'
  readonly reason: string
  /** Kinds of fault that truly acted, with how often. */
  readonly faults: Readonly<Record<string, number>>
  readonly points: number
  readonly marked: number
  /** Points that are off by more than they may and carry no mark, in words. */
  readonly wrong: readonly string[]
  /** Readings that were shown and are not in the file as shown. */
  readonly lost: number
  readonly readings: number
  readonly gaps: number
  readonly hours: number
  readonly realS: number
}

/** A night that takes longer than this has hung. */
const LONGEST_H = 72
/** What a temperature may be off beyond five standard uncertainties, mK: lag and flutter between stem and bath. */
const SLACK_MK = 4

interface Truth {
  /** Temperature of the thermometer's place and of its element when the reading was stored, degC. */
  readonly place: number
  readonly element: number
}

/** Runs one night of the lab with the faults its seed draws, and judges it against the lab's truth. */
export async function runNight(
  seed: number,
  only?: readonly string[],
  logLevel = 'silent',
  look?: (file: SessionFile, follower: Follower) => void,
  bus?: LabBus,
): Promise<NightResult> {
  const from = performance.now()
  const box = await openBox({ seed, logLevel, ...(bus && { bus }) })
  const night = drawFaults(seed, box.lab, only)
  for (const order of night.lab) box.lab.fault(order)
  const follower = new Follower(box.lab)
  const plan = drawPlan(seed)
  try {
    const session = await box.station.startPlan({
      plan,
      operator: 'Soak',
      accept: acceptAll(box.station, plan),
    })
    follower.follow(box.station)
    const outcome = await Promise.race([
      throughTheNight(box, night, follower),
      box.clock
        .sleep(LONGEST_H * 3.6e6)
        .then(() => ({ ending: 'hung' as const, reason: box.station.state().runner.words })),
    ])
    await box.station.close()
    const file = openSessionFile(box.store.sessionPath(session), { mode: 'read' })
    try {
      look?.(file, follower)
      return judge(seed, box, file, follower, night, outcome, from)
    } finally {
      file.close()
    }
  } catch (fault) {
    const words = fault instanceof Error ? (fault.stack ?? fault.message) : String(fault)
    return { ...EMPTY, seed, ending: 'crashed', reason: words, realS: (performance.now() - from) / 1000 }
  } finally {
    await box.close()
  }
}

const EMPTY = { faults: {}, points: 0, marked: 0, wrong: [], lost: 0, readings: 0, gaps: 0, hours: 0 }

function acceptAll(station: Station, plan: Plan): string[] {
  return station.preview(plan).checks.map((c) => c.id)
}

function drawPlan(seed: number): Plan {
  const stream = randomStream(seed, 'soak plan')
  const count = 3 + stream.integer(3)
  const setpoints = Array.from({ length: count }, () => Math.round(10 + stream.uniform() * 85))
  const onTimeout = (['take-marked', 'skip', 'stop', 'extend'] as const)[stream.integer(4)]!
  return planOf(setpoints, {
    onTimeout,
    maxWaitS: 2 * 3600,
    order: (['symmetric', 'sequence', 'interleaved'] as const)[stream.integer(3)]!,
    settling: {
      windowS: 600,
      driftMkPerMin: 1,
      spreadMk: 6,
      bandK: 0.2,
      holdS: 300,
      confidence: 0.95,
      channels: [],
      adaptive: 1.5,
    },
    ...(stream.uniform() < 0.2 && { rampKPerMin: 2 }),
  })
}

/** Lets the night run, doing to the station what its faults say. */
async function throughTheNight(box: Box, night: OrderedNight, follower: Follower): Promise<Finished> {
  let at = 0
  for (const { kind, atS, forS, byS } of night.station) {
    const done = await Promise.race([
      box.station.finished,
      box.clock.sleep((atS - at) * 1000).then(() => undefined),
    ])
    if (done) return done
    at = atS
    follower.count(kind)
    if (kind === 'clock-step') box.clock.stepUtc(byS * 1000)
    else if (kind === 'disk-full') fillDisk(box, forS)
    else {
      const station = await box.restart()
      await box.clock.sleep(forS * 1000)
      at += forS
      const id = await station.open()
      if (id === undefined) break
      follower.follow(station)
    }
  }
  return box.station.finished
}

/** Makes the session file refuse like a full disk for a while; a second filling within the first one is the same disk. */
function fillDisk(box: Box, forS: number): void {
  const file = box.station.session?.recorder.file
  if (!file || Object.hasOwn(file, 'commit')) return
  file.commit = () => {
    throw new StoreError('disk-full', asTold('The disk is full. Make room; recording goes on by itself.'))
  }
  box.clock.after(forS * 1000, () => {
    Reflect.deleteProperty(file, 'commit')
  })
}

/** Keeps what was shown, and what was true at that moment. */
export class Follower {
  readonly shown = new Map<number, string>()
  readonly truth = new Map<number, Truth>()
  readonly stationFaults: Record<string, number> = {}
  readonly #lab: Lab

  constructor(lab: Lab) {
    this.#lab = lab
  }

  count(kind: string): void {
    this.stationFaults[kind] = (this.stationFaults[kind] ?? 0) + 1
  }

  follow(station: Station): void {
    const { bench } = station.session!.setup
    const thermometers = new Map(bench.channels.map((c) => [c.id, c.thermometer!]))
    station.session!.recorder.onDidStore.on((readings) => {
      for (const reading of readings) {
        this.shown.set(reading.seq, fingerprint(reading))
        const id = thermometers.get(reading.channel)
        if (id === undefined) continue
        const { truth } = this.#lab
        this.truth.set(reading.seq, { place: truth.temperatureAt(id), element: truth.elementOf(id) })
      }
    })
  }
}

const fingerprint = (r: Reading) => `${r.channel}|${r.raw}|${r.utcUs}|${[...r.marks].sort().join()}`

function judge(
  seed: number,
  box: Box,
  file: SessionFile,
  follower: Follower,
  night: OrderedNight,
  outcome: { ending: NightResult['ending']; reason: string },
  from: number,
): NightResult {
  const points = file.points()
  const readings = file.since(0, 10_000_000)
  const stored = new Map(readings.map((r) => [r.seq, fingerprint(r)]))
  let lost = 0
  for (const [seq, shown] of follower.shown) if (stored.get(seq) !== shown) lost += 1
  const wrong = points
    .filter((p) => p.marks.length === 0)
    .flatMap((p) => wrongChannels(box, file, readings, follower, p))
  const faults: Record<string, number> = { ...follower.stationFaults }
  for (const { order } of box.lab.truth.faults) faults[order.kind] = (faults[order.kind] ?? 0) + 1
  return {
    seed,
    ending: outcome.ending,
    reason: outcome.reason,
    faults,
    points: points.length,
    marked: points.filter((p) => p.marks.length > 0).length,
    wrong,
    lost,
    readings: readings.length,
    gaps: file.events({ kinds: ['gap'] }).length,
    hours: (box.clock.now().monoUs / 1e6 + night.station.length * 0) / 3600,
    realS: (performance.now() - from) / 1000,
  }
}

function wrongChannels(
  box: Box,
  file: SessionFile,
  readings: readonly Reading[],
  follower: Follower,
  point: Point,
): string[] {
  const { bench } = file.setup
  return point.channels.flatMap((taken) => {
    const channel = bench.channels.find((c) => c.id === taken.channel)!
    const truth = readings
      .filter((r) => r.channel === taken.channel && r.seq >= taken.firstSeq && r.seq <= taken.lastSeq)
      .flatMap((r) => follower.truth.get(r.seq) ?? [])
    if (truth.length === 0) return []
    const mean = (of: (t: Truth) => number) => truth.reduce((sum, t) => sum + of(t), 0) / truth.length
    const off = offMk(box.lab, channel.thermometer!, taken, mean)
    const allowed = SLACK_MK + 5 * Math.hypot(taken.uTypeAMk ?? 0, uMk(file, taken))
    if (Math.abs(off) <= allowed) return []
    return [`${point.id} ${taken.channel}: off by ${off.toFixed(1)} mK, allowed ${allowed.toFixed(1)} mK`]
  })
}

/** How far a channel of a point is from the truth: the reference in temperature, the others in what they measured. */
function offMk(
  lab: Lab,
  thermometer: string,
  taken: PointChannel,
  mean: (of: (t: Truth) => number) => number,
): number {
  if (taken.t90C !== null) return (taken.t90C - mean((t) => t.place)) * 1e3
  const { curve } = lab.truth.thermometers.get(thermometer)!
  const element = mean((t) => t.element)
  const ohm = resistanceOf(curve, element)!
  const slope = (resistanceOf(curve, element + 0.01)! - resistanceOf(curve, element - 0.01)!) / 0.02
  return ((taken.signal! - ohm) / slope) * 1e3
}

/** Standard uncertainty of what links truth and reading: bridge, resistor, and for a calibrated one its certificate. */
function uMk(file: SessionFile, taken: PointChannel): number {
  return file.setup.register.thermometers.length > 0 && taken.t90C !== null ? 1 : 0.6
}
