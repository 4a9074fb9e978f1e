import type { Point } from '../../app/records/point.ts'
import type { NewReading } from '../../app/records/reading.ts'
import type { NewSessionEvent, SessionInfo, SessionSetup } from '../../app/records/session.ts'

/** Moment at which the examples begin: 2026-03-01T18:00:00Z. */
export const START_UTC_US = Date.UTC(2026, 2, 1, 18) * 1000

export const exampleClock = (startUtcUs = START_UTC_US) => {
  let ticks = 0
  return { now: () => ({ utcUs: startUtcUs + ++ticks, monoUs: ticks }) }
}

export const exampleInfo: SessionInfo = {
  id: 'example',
  name: 'Comparison of two thermometers',
  kind: 'comparison',
  operator: 'A. Person',
  startedUtcUs: START_UTC_US,
  endedUtcUs: null,
  ending: null,
  endingReason: null,
  program: 'Stillpoint',
  programVersion: '0.1.0',
  note: '',
}

export const exampleSetup: SessionSetup = {
  bench: { id: 'bench', name: 'Bench', instruments: [], channels: [], scanEveryS: 1 },
  plan: null,
  register: { thermometers: [], resistors: [], instruments: [], fluids: [] },
  profiles: {},
  laboratory: { name: 'Quennick Temperature Laboratory', address: ['1 Invented Way'], country: 'GB' },
  job: null,
}

export const examplePoint: Point = {
  id: 'p1',
  step: 0,
  setpointC: 25,
  label: null,
  kind: 'comparison',
  startUtcUs: START_UTC_US,
  endUtcUs: START_UTC_US + 60_000_000,
  order: 'symmetric',
  cycles: 3,
  settled: true,
  reason: 'settled',
  channels: [],
  marks: [],
}

export const exampleEvent = (words: string): NewSessionEvent => ({
  utcUs: START_UTC_US,
  monoUs: 0,
  kind: 'note',
  who: 'station',
  subject: null,
  words,
  data: {},
})

/** One scan: a reading of each channel, `tick` seconds after the start. */
export function scan(tick: number, channels: number): NewReading[] {
  return Array.from({ length: channels }, (_, i) => {
    const ratio =
      1.04 + 0.0001 * i + 1e-6 * Math.sin(tick / 50 + i) + 1e-8 * ((tick * 7919 + i * 104729) % 100)
    const raw = `+${ratio.toExponential(8).toUpperCase()}`
    return {
      channel: `ch${i + 1}`,
      utcUs: START_UTC_US + tick * 1_000_000 + i * 10_000,
      monoUs: tick * 1_000_000 + i * 10_000,
      raw,
      value: raw,
      unit: 'ratio',
      marks: [],
      currentMa: 1,
    }
  })
}
