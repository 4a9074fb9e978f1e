import type { ChannelView, LinkView } from '../../app/contract/views.ts'
import type { Bench, Channel } from '../../app/records/bench.ts'
import { junctionWords, type Selected } from './bench.model.ts'

export interface DrawnNode {
  id: string
  kind: 'bath' | 'thermometer' | 'crowd' | 'scanner' | 'meter' | 'resistor' | 'standard' | 'other'
  select: Selected
  title: string
  words: string
  /** Column from the left and place from the top, in rows. */
  column: number
  row: number
  link: LinkView['state'] | undefined
  channel: ChannelView | undefined
  problem: boolean
}
export interface DrawnWire {
  from: string
  to: string
  /** junction: no wire, but the temperature of a reference junction. */
  state: 'good' | 'broken' | 'idle' | 'junction'
}
export interface Drawing {
  nodes: DrawnNode[]
  wires: DrawnWire[]
  rows: number
  columns: number
}

export interface DrawnFrom {
  bench: Bench
  roleOf: (profile: string) => string
  links: readonly LinkView[]
  channels: readonly ChannelView[]
  resistorName: (id: string) => string
  problems: Record<string, string>
}

const MOST_DRAWN = 20

const farthestHop = (c: Channel) => c.route.at(-1)?.scanner ?? c.instrument

/** Who is connected to what, from left to right: thermometers, scanners in series, bridges and meters, references. */
export function drawBench(from: DrawnFrom): Drawing {
  const { bench, roleOf, links, channels, problems } = from
  const each = bench.channels.length <= MOST_DRAWN
  const series = Math.max(1, ...bench.channels.map((c) => c.route.length))
  const meterColumn = series + 1
  const nodes: DrawnNode[] = []
  const put = (node: Omit<DrawnNode, 'row' | 'link' | 'channel' | 'problem'> & Partial<DrawnNode>): void => {
    nodes.push({
      row: nodes.filter((n) => n.column === node.column).length,
      link: undefined,
      channel: undefined,
      problem: false,
      ...node,
    })
  }
  if (each) {
    for (const c of bench.channels)
      put({
        id: `channel/${c.id}`,
        kind: 'thermometer',
        select: { kind: 'channel', id: c.id },
        title: c.name,
        words: thermometerWords(bench, c),
        column: 0,
        channel: channels.find((v) => v.id === c.id),
        problem: problems[`channel/${c.id}`] !== undefined,
      })
  } else for (const crowd of crowds(from)) put(crowd)

  const isOther = (i: Bench['instruments'][number]) => roleOf(i.profile) === 'environment'
  const putInstrument = (i: Bench['instruments'][number]) => {
    const role = roleOf(i.profile)
    const link = links.find((l) => l.instrument === i.id)
    const kind =
      role === 'scanner' ? 'scanner' : role === 'bath' ? 'bath' : role === 'environment' ? 'other' : 'meter'
    put({
      id: `instrument/${i.id}`,
      kind,
      select: { kind: 'instrument', id: i.id },
      title: i.name,
      words: link?.words ?? 'not opened yet',
      column: kind === 'scanner' ? scannerColumn(bench, i.id, series) : kind === 'meter' ? meterColumn : 0,
      link: link?.state,
      problem: problems[`instrument/${i.id}`] !== undefined,
    })
  }
  for (const i of bench.instruments.filter((one) => !isOther(one))) putInstrument(i)
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
  // What is not in the bath stands below it.
  for (const i of bench.instruments.filter(isOther)) putInstrument(i)
  for (const { reference } of bench.channels) {
    if (!reference || nodes.some((n) => n.id === referenceNode(reference))) continue
    const standard = reference.kind === 'channel'
    put({
      id: referenceNode(reference),
      kind: standard ? 'standard' : 'resistor',
      select: standard ? { kind: 'channel', id: reference.channel } : null,
      title: standard
        ? (bench.channels.find((o) => o.id === reference.channel)?.name ?? reference.channel)
        : from.resistorName(reference.resistor).replace(/^reference resistor\s+(?=\S)/i, ''),
      words: standard ? 'denominator of the ratio' : 'reference resistor',
      column: meterColumn + 1,
    })
  }
  const columns = meterColumn + 2
  const counts = Array.from({ length: columns }, (_, c) => nodes.filter((n) => n.column === c).length)
  return { nodes, wires: wiresOf(from, each), rows: Math.max(1, ...counts), columns }
}

const referenceNode = (reference: NonNullable<Channel['reference']>): string =>
  reference.kind === 'channel' ? `standard/${reference.channel}` : `resistor/${reference.resistor}`

/** The scanner next to the meter stands rightmost; what hangs behind it, further left. */
function scannerColumn(bench: Bench, id: string, series: number): number {
  const behind = Math.max(0, ...bench.channels.map((c) => c.route.findIndex((r) => r.scanner === id)))
  return series - behind
}

function thermometerWords(bench: Bench, c: Channel): string {
  const input = `input ${c.route.at(-1)?.input ?? c.input}`
  if (!c.junction) return input
  return `${input}, ${junctionWords(c.junction, (id) => bench.channels.find((o) => o.id === id)?.name ?? id)}`
}

function crowds({ bench, channels, problems }: DrawnFrom): Omit<DrawnNode, 'row' | 'link' | 'channel'>[] {
  return [...new Set(bench.channels.map(farthestHop))].map((hop) => {
    const part = bench.channels.filter((c) => farthestHop(c) === hop)
    const settled = part.filter((c) => channels.find((v) => v.id === c.id)?.settling.state === 'flat').length
    return {
      id: `crowd/${hop}`,
      kind: 'crowd',
      select: null,
      title: `${part.length} thermometers`,
      words: `${settled} settled`,
      column: 0,
      problem: part.some((c) => problems[`channel/${c.id}`] !== undefined),
    }
  })
}

function wiresOf({ bench, links, channels }: DrawnFrom, each: boolean): DrawnWire[] {
  const wires = new Map<string, DrawnWire>()
  const wire = (from: string, to: string, state: DrawnWire['state']) => {
    if (!wires.has(`${from}>${to}`)) wires.set(`${from}>${to}`, { from, to, state })
  }
  const stateOf = (instrument: string): DrawnWire['state'] => {
    const state = links.find((l) => l.instrument === instrument)?.state
    return state === 'ready' ? 'good' : state === 'lost' || state === 'stopped' ? 'broken' : 'idle'
  }
  for (const c of bench.channels) {
    const own = channels.find((v) => v.id === c.id)
    const silent = own?.settling.state === 'broken' && own.lastSeq !== null
    const start = each ? `channel/${c.id}` : `crowd/${farthestHop(c)}`
    let from = start
    for (const hop of [...c.route.map((r) => r.scanner).reverse(), c.instrument]) {
      const broken = from === start && (silent || own?.settling.state === 'crossed')
      wire(from, `instrument/${hop}`, broken ? 'broken' : stateOf(hop))
      from = `instrument/${hop}`
    }
    if (c.reference) wire(`instrument/${c.instrument}`, referenceNode(c.reference), stateOf(c.instrument))
    if (each && c.junction?.kind === 'channel')
      wire(`channel/${c.id}`, `channel/${c.junction.channel}`, 'junction')
  }
  return [...wires.values()]
}
