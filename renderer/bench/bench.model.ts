import type { ChannelView, LinkView } from '../../app/contract/views.ts'
import { type BathSpec, Bench, type BenchInstrument, type Channel } from '../../app/records/bench.ts'

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
  | { do: 'add-instrument'; instrument: BenchInstrument }
  | { do: 'remove-instrument'; id: string }
  | { do: 'channel'; id: string; part: Partial<Channel> }
  | {
      do: 'unset-channel'
      id: string
      field: 'thermometer' | 'reference' | 'keepWarmMa' | 'immersionMm' | 'junction'
    }
  | { do: 'add-channel'; channel: Channel }
  | { do: 'remove-channel'; id: string }
  | { do: 'bath'; bath: BathSpec | undefined }

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

/** What is not right yet, said where it is. Keys: 'bench', 'instrument/<id>', 'channel/<id>', 'bath'. */
export function benchProblems(bench: Bench, roleOf: (profile: string) => string): Record<string, string> {
  const problems: Record<string, string> = {}
  const ids = new Set(bench.instruments.map((i) => i.id))
  const addresses = new Map<string, string>()
  for (const i of bench.instruments) {
    const address = i.link.kind === 'tcp' ? `${i.link.host}:${i.link.port}` : i.link.path
    const other = addresses.get(address)
    if (other)
      problems[`instrument/${i.id}`] =
        `${other} has the same address ${address}. One of them must be another.`
    addresses.set(address, i.name)
    if (i.name.trim() === '') problems[`instrument/${i.id}`] = 'An instrument needs a name.'
  }
  const places = new Map<string, string>()
  for (const c of bench.channels) {
    const key = `channel/${c.id}`
    const place = `${c.instrument}/${c.input}/${c.route.map((r) => `${r.scanner}:${r.input}`).join('/')}`
    const other = places.get(place)
    if (other) problems[key] = `${other} already sits on this input. Choose another input.`
    places.set(place, c.name)
    if (!ids.has(c.instrument)) problems[key] = 'Its bridge or meter is not on this bench. Choose one.'
    const meter = bench.instruments.find((i) => i.id === c.instrument)
    if (meter && roleOf(meter.profile) === 'ratio-bridge' && !c.reference)
      problems[key] = 'A ratio needs a reference resistor. Choose one.'
    if (!c.thermometer) problems[key] ??= 'No thermometer is named, so only raw values can be shown.'
  }
  if (bench.bath && !(bench.bath.lowC < bench.bath.highC))
    problems.bath = 'The lower limit must lie below the upper one.'
  else if (bench.bath && (bench.bath.safeC < bench.bath.lowC || bench.bath.safeC > bench.bath.highC))
    problems.bath = 'The safe setpoint must lie within the limits.'
  const parsed = Bench.safeParse(bench)
  if (!parsed.success)
    problems.bench = `${parsed.error.issues[0]?.path.join(' ')}: ${parsed.error.issues[0]?.message}`
  return problems
}

export interface DrawnNode {
  id: string
  kind: 'bath' | 'thermometer' | 'crowd' | 'scanner' | 'meter' | 'resistor' | 'other'
  select: Selected
  title: string
  words: string
  /** Column 0 ... 3 and place from the top, in rows. */
  column: number
  row: number
  link: LinkView['state'] | undefined
  channel: ChannelView | undefined
  problem: boolean
}
export interface DrawnWire {
  from: string
  to: string
  state: 'good' | 'broken' | 'idle'
}
export interface Drawing {
  nodes: DrawnNode[]
  wires: DrawnWire[]
  rows: number
}

const MOST_DRAWN = 20

/** Who is connected to what: thermometers, scanners, bridges and meters, resistors, from left to right. */
export function drawBench(
  bench: Bench,
  roleOf: (profile: string) => string,
  links: readonly LinkView[],
  channels: readonly ChannelView[],
  resistorName: (id: string) => string,
  problems: Record<string, string>,
): Drawing {
  const nodes: DrawnNode[] = []
  const wires: DrawnWire[] = []
  const stateOf = (id: string) => links.find((l) => l.instrument === id)
  const firstHop = (c: Channel) => c.route.at(-1)?.scanner ?? c.instrument
  const put = (node: Omit<DrawnNode, 'row' | 'link' | 'channel' | 'problem'> & Partial<DrawnNode>): void => {
    nodes.push({
      row: nodes.filter((n) => n.column === node.column).length,
      link: undefined,
      channel: undefined,
      problem: false,
      ...node,
    })
  }
  if (bench.channels.length <= MOST_DRAWN) {
    for (const c of bench.channels) {
      const hop = c.route.at(-1)
      put({
        id: `channel/${c.id}`,
        kind: 'thermometer',
        select: { kind: 'channel', id: c.id },
        title: c.name,
        words: hop ? `input ${hop.input}` : `input ${c.input}`,
        column: 0,
        channel: channels.find((v) => v.id === c.id),
        problem: problems[`channel/${c.id}`] !== undefined,
      })
    }
  } else {
    for (const hop of new Set(bench.channels.map(firstHop))) {
      const part = bench.channels.filter((c) => firstHop(c) === hop)
      const settled = part.filter(
        (c) => channels.find((v) => v.id === c.id)?.settling.state === 'flat',
      ).length
      put({
        id: `crowd/${hop}`,
        kind: 'crowd',
        select: null,
        title: `${part.length} thermometers`,
        words: `${settled} settled`,
        column: 0,
        problem: part.some((c) => problems[`channel/${c.id}`] !== undefined),
      })
    }
  }
  for (const i of bench.instruments) {
    const role = roleOf(i.profile)
    const link = stateOf(i.id)
    const kind =
      role === 'scanner' ? 'scanner' : role === 'bath' ? 'bath' : role === 'environment' ? 'other' : 'meter'
    put({
      id: `instrument/${i.id}`,
      kind,
      select: { kind: 'instrument', id: i.id },
      title: i.name,
      words: link?.words ?? 'not opened yet',
      column: kind === 'scanner' ? 1 : kind === 'meter' ? 2 : 0,
      link: link?.state,
      problem: problems[`instrument/${i.id}`] !== undefined,
    })
  }
  if (bench.bath && !bench.bath.instrument)
    put({
      id: 'bath',
      kind: 'bath',
      select: { kind: 'bath' },
      title: bench.bath.name,
      words: 'set by hand',
      column: 0,
      problem: problems.bath !== undefined,
    })
  const resistors = new Set(
    bench.channels.flatMap((c) => (c.reference?.kind === 'resistor' ? [c.reference.resistor] : [])),
  )
  for (const r of resistors)
    put({
      id: `resistor/${r}`,
      kind: 'resistor',
      select: null,
      title: resistorName(r),
      words: 'reference resistor',
      column: 3,
    })

  const has = new Set<string>()
  const wire = (from: string, to: string, state: DrawnWire['state']) => {
    if (has.has(`${from}>${to}`)) return
    has.add(`${from}>${to}`)
    wires.push({ from, to, state })
  }
  const wireState = (instrument: string): DrawnWire['state'] => {
    const state = stateOf(instrument)?.state
    return state === 'ready' ? 'good' : state === 'lost' || state === 'stopped' ? 'broken' : 'idle'
  }
  for (const c of bench.channels) {
    const own = channels.find((v) => v.id === c.id)
    const silent = own?.settling.state === 'broken' && own.lastSeq !== null
    const start = bench.channels.length <= MOST_DRAWN ? `channel/${c.id}` : `crowd/${firstHop(c)}`
    const hops = [...c.route.map((r) => r.scanner)].reverse()
    let from = start
    for (const hop of [...hops, c.instrument]) {
      const broken = from === start && (silent || own?.settling.state === 'crossed')
      wire(from, `instrument/${hop}`, broken ? 'broken' : wireState(hop))
      from = `instrument/${hop}`
    }
    if (c.reference?.kind === 'resistor')
      wire(`instrument/${c.instrument}`, `resistor/${c.reference.resistor}`, wireState(c.instrument))
  }
  const counts = [0, 1, 2, 3].map((column) => nodes.filter((n) => n.column === column).length)
  return { nodes, wires, rows: Math.max(1, ...counts) }
}
