import { first } from '../../app/base/lists.ts'
import type { ChannelUnit } from '../../app/live/channel-unit.ts'
import type { BathSpec, Bench, BenchInstrument, Channel } from '../../app/records/bench.ts'

/** What of the bench is being edited. */
export type Selected =
  | { kind: 'instrument'; id: string }
  | { kind: 'channel'; id: string }
  | { kind: 'bath' }
  | null

export type BenchAct =
  | { do: 'load'; bench: Bench }
  | { do: 'name'; name: string }
  | { do: 'scan'; scanEveryS: number }
  | { do: 'instrument'; id: string; part: Partial<BenchInstrument> }
  | { do: 'unset-instrument'; id: string; field: 'serial' | 'register' }
  | { do: 'add-instrument'; instrument: BenchInstrument }
  | { do: 'remove-instrument'; id: string }
  | { do: 'channel'; id: string; part: Partial<Channel> }
  | {
      do: 'unset-channel'
      id: string
      field: 'thermometer' | 'reference' | 'keepWarmMa' | 'immersionMm' | 'junction' | 'unit' | 'range'
    }
  | { do: 'add-channel'; channel: Channel }
  | { do: 'remove-channel'; id: string }
  | { do: 'bath'; bath: BathSpec | undefined }

/** The case that a profile's instrument is in: the whole name before that of a part. */
export const caseOf = (profile: string): string => first(profile.split('/', 1))

export function newBench(id: string): Bench {
  return { id, name: 'My bench', instruments: [], channels: [], scanEveryS: 0 }
}

export function benchReduce(bench: Bench, act: BenchAct): Bench {
  switch (act.do) {
    case 'load':
      return act.bench
    case 'name':
      return { ...bench, name: act.name }
    case 'scan':
      return { ...bench, scanEveryS: act.scanEveryS }
    case 'instrument':
      return {
        ...bench,
        instruments: bench.instruments.map((i) => (i.id === act.id ? { ...i, ...act.part } : i)),
      }
    case 'unset-instrument':
      return {
        ...bench,
        instruments: bench.instruments.map((i) => {
          if (i.id !== act.id) return i
          const { [act.field]: _gone, ...rest } = i
          return rest
        }),
      }
    case 'add-instrument':
      return { ...bench, instruments: [...bench.instruments, act.instrument] }
    case 'remove-instrument':
      return {
        ...bench,
        instruments: bench.instruments.filter((i) => i.id !== act.id),
        channels: bench.channels
          .filter((c) => c.instrument !== act.id)
          .map((c) => ({ ...c, route: c.route.filter((r) => r.scanner !== act.id) })),
      }
    case 'channel':
      return { ...bench, channels: bench.channels.map((c) => (c.id === act.id ? { ...c, ...act.part } : c)) }
    case 'unset-channel':
      return {
        ...bench,
        channels: bench.channels.map((c) => {
          if (c.id !== act.id) return c
          const { [act.field]: _gone, ...rest } = c
          return rest
        }),
      }
    case 'add-channel':
      return { ...bench, channels: [...bench.channels, act.channel] }
    case 'remove-channel':
      return { ...bench, channels: bench.channels.filter((c) => c.id !== act.id) }
    case 'bath': {
      const { bath: _old, ...rest } = bench
      return act.bath ? { ...rest, bath: act.bath } : rest
    }
  }
}

/** What is to be said of an edit beside the station's own bench. */
export function asideOf(bench: Bench, stored: Bench | undefined, overtaken: boolean): string | undefined {
  if (overtaken)
    return 'The station has another state of the bench than this edit began with. Saving puts yours in its place.'
  return stored && stored.id !== bench.id ? 'This is a new bench that is not saved yet.' : undefined
}

/** The least free id of a kind: 'bridge', 'bridge-2', ... */
export function freeId(stem: string, taken: readonly string[]): string {
  if (!taken.includes(stem)) return stem
  for (let n = 2; ; n++) if (!taken.includes(`${stem}-${n}`)) return `${stem}-${n}`
}

/** A further channel like the last one, on the next input. */
export function nextChannel(bench: Bench, roleOf: (instrument: string) => string): Channel | undefined {
  const last = bench.channels.at(-1)
  const id = freeId(
    'ch',
    bench.channels.map((c) => c.id),
  )
  const n = bench.channels.length + 1
  if (last) {
    const { thermometer: _t, ...rest } = last
    const route = rest.route.map((r, i) => (i === rest.route.length - 1 ? { ...r, input: r.input + 1 } : r))
    return {
      ...rest,
      id,
      name: `Channel ${n}`,
      role: 'under-test',
      route,
      input: route.length > 0 ? rest.input : rest.input + 1,
    }
  }
  const meter = bench.instruments.find((i) => ['ratio-bridge', 'meter'].includes(roleOf(i.profile)))
  if (!meter) return undefined
  const scanner = bench.instruments.find((i) => roleOf(i.profile) === 'scanner')
  return {
    id,
    name: `Channel ${n}`,
    role: 'reference',
    instrument: meter.id,
    input: 1,
    route: scanner ? [{ scanner: scanner.id, input: 1 }] : [],
    currentMa: 1,
    settleMs: 500,
    discard: 1,
    readings: 1,
    average: 1,
    enabled: true,
  }
}

export type Junction = NonNullable<Channel['junction']>

/** How a reference junction is kept, as a person would say it. */
export const JUNCTION_KINDS = ['ice', 'fixed', 'channel', 'compensated'] as const
export type JunctionKind = (typeof JUNCTION_KINDS)[number]

export const junctionKind = (junction: Junction): JunctionKind =>
  junction.kind === 'fixed' && junction.celsius === 0 ? 'ice' : junction.kind

/** A junction of this kind, with what is known of the old one kept. */
export function junctionOf(
  kind: JunctionKind,
  old: Junction | undefined,
  channel: string | undefined,
): Junction | undefined {
  const uK = old?.uK === undefined ? {} : { uK: old.uK }
  switch (kind) {
    case 'ice':
      return { kind: 'fixed', celsius: 0, ...uK }
    case 'fixed':
      return { kind: 'fixed', celsius: old?.kind === 'fixed' && old.celsius !== 0 ? old.celsius : 23, ...uK }
    case 'channel':
      return channel === undefined ? undefined : { kind: 'channel', channel, ...uK }
    case 'compensated':
      return { kind: 'compensated', ...uK }
  }
}

export function junctionWords(junction: Junction, nameOf: (channel: string) => string): string {
  switch (junction.kind) {
    case 'fixed':
      return junction.celsius === 0 ? 'junction in ice' : `junction at ${junction.celsius} °C`
    case 'channel':
      return `junction by ${nameOf(junction.channel)}`
    case 'compensated':
      return 'junction compensated'
  }
}

/** The channels that another may be measured against: not itself, and none that in the end is measured against it. */
export function channelsToFollow(bench: Bench, id: string): Channel[] {
  const follows = (c: Channel): string[] => [
    ...(c.reference?.kind === 'channel' ? [c.reference.channel] : []),
    ...(c.junction?.kind === 'channel' ? [c.junction.channel] : []),
  ]
  const leadsBack = (c: Channel, seen: readonly string[]): boolean =>
    follows(c).some((next) => {
      if (next === id) return true
      const other = bench.channels.find((o) => o.id === next)
      return other !== undefined && !seen.includes(next) && leadsBack(other, [...seen, next])
    })
  return bench.channels.filter((c) => c.id !== id && !leadsBack(c, [c.id]))
}

const UNIT_NAMES: Readonly<Record<ChannelUnit, string>> = {
  degC: '°C',
  K: 'K',
  degF: '°F',
  ohm: 'Ω',
  ratio: 'Ratio',
  mV: 'mV',
}

/** Units in which a channel can be shown, by the kind of its thermometer; without one, as it is read. */
export function unitChoices(
  kind: string | undefined,
  unit: ChannelUnit | undefined,
): { id: ChannelUnit; name: string }[] {
  const units: ChannelUnit[] =
    kind === undefined
      ? []
      : kind === 'thermocouple'
        ? ['degC', 'K', 'degF', 'mV']
        : ['degC', 'K', 'degF', 'ohm', 'ratio']
  // One that was chosen before the thermometer was changed is still said.
  if (unit && !units.includes(unit)) units.push(unit)
  return units.map((id) => ({ id, name: UNIT_NAMES[id] }))
}

/** Whether budgets would have nothing for the bath itself. */
export const lacksFigures = ({ uniformityMk, stabilityMk }: BathSpec, surveys: number): boolean =>
  (uniformityMk === 0 && surveys === 0) || stabilityMk === 0
