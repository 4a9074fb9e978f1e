import type { Clock } from '../../app/base/clock.ts'
import { utcDay } from '../../app/base/times.ts'
import { buildChains } from '../../app/live/chain.ts'
import { buildPoint } from '../../app/live/point.ts'
import { readingOrder } from '../../app/plan/orders.ts'
import type { NewReading, Reading } from '../../app/records/reading.ts'
import type { SessionInfo, SessionSetup } from '../../app/records/session.ts'
import type { AnalysisInput } from '../../app/results/analysis.ts'
import { seedOf } from '../../app/results/uncertainty-monte-carlo.ts'
import { seededRandom } from '../../app/statistics/random.ts'
import { createSessionFile, type SessionFile } from '../../main/store/session-file.ts'
import { type SimulationChoices, simulate, type Truth } from './fixture.ts'

/** Another night with the same numbers: its own names, begun so much later. */
export interface AnotherNight extends Partial<SessionInfo> {
  shiftUs?: number
}

function laterBy(input: AnalysisInput, { shiftUs = 0, ...about }: AnotherNight): AnalysisInput {
  const { info } = input
  return {
    ...input,
    info: {
      ...info,
      startedUtcUs: info.startedUtcUs + shiftUs,
      endedUtcUs: info.endedUtcUs! + shiftUs,
      ...about,
    },
    points: input.points.map((point) => ({
      ...point,
      startUtcUs: point.startUtcUs + shiftUs,
      endUtcUs: point.endUtcUs + shiftUs,
    })),
    events: input.events.map((event) => ({ ...event, utcUs: event.utcUs + shiftUs })),
  }
}

/** The fixture's night as a real session file: readings in their order, points made of them, events. */
export function fixtureSession(
  path: string,
  choices: Partial<SimulationChoices> = {},
  change: (setup: SessionSetup, truth: Truth) => SessionSetup = (setup) => setup,
  another: AnotherNight = {},
): { session: SessionFile; truth: Truth } {
  const { input: drawn, truth } = simulate(choices)
  const input = laterBy(drawn, another)
  const { info } = input
  const setup = change(input.setup, truth)
  let nowUs = info.startedUtcUs
  const clock: Pick<Clock, 'now'> = {
    now: () => ({ utcUs: nowUs, monoUs: nowUs - info.startedUtcUs }),
  }
  const session = createSessionFile(path, {
    info: { ...info, endedUtcUs: null, ending: null },
    setup,
    clock,
  })
  for (const event of input.events) {
    const { n: _n, ...rest } = event
    session.commit({ events: [rest] })
  }
  const random = seededRandom(seedOf(`readings ${info.id}`))
  const chains = buildChains({
    bench: setup.bench,
    register: setup.register,
    date: utcDay(info.startedUtcUs),
  })
  for (const point of input.points) {
    const ids = point.channels
      .map((c) => c.channel)
      .filter((id) => setup.bench.channels.some((c) => c.id === id))
    const others = ids.filter((id) => id !== 's0')
    const order = readingOrder('symmetric', ids.includes('s0') ? ['s0'] : [], others)
    const cycles = Math.max(1, Math.round((choices.readings ?? 30) / 2))
    const stepUs = Math.floor((point.endUtcUs - point.startUtcUs) / (order.length * cycles))
    const fresh: NewReading[] = []
    Array.from({ length: cycles }, () => order)
      .flat()
      .forEach((id, i) => {
        const at = point.channels.find((c) => c.channel === id)!
        const utcUs = point.startUtcUs + i * stepUs
        const value = (at.rawMean + at.rawSd * random.normal()).toFixed(9)
        fresh.push({
          channel: id,
          utcUs,
          monoUs: utcUs - info.startedUtcUs,
          raw: value,
          value,
          unit: 'ratio',
          marks: [],
          currentMa: setup.bench.channels.find((c) => c.id === id)!.currentMa,
        })
      })
    nowUs = point.endUtcUs
    const from = session.lastSeq
    session.commit({ readings: fresh })
    const stored: Reading[] = session.since(from, fresh.length)
    const { channels: _c, startUtcUs: _s, endUtcUs: _e, ...head } = point
    session.commit({ points: [buildPoint({ bench: setup.bench, chains, readings: stored }, head)] })
  }
  nowUs = info.endedUtcUs!
  session.finish('complete', 'plan done')
  return { session, truth }
}
