import { Bench, type BenchInstrument, type Channel } from '../../app/records/bench.ts'
import { linkWords } from '../../app/records/link-words.ts'
import type { Thermometer } from '../../app/records/register.ts'
import { issueWords } from '../text/issues.ts'
import { caseOf, channelsToFollow } from './bench.model.ts'

/** What the checks need to know of what is not on the bench itself. */
export interface Known {
  roleOf: (profile: string) => string
  kindOf?: (thermometer: string) => Thermometer['kind'] | undefined
}

/** What is not right yet, said where it is. Keys: 'bench', 'instrument/<id>', 'channel/<id>', 'bath'. */
export function benchProblems(bench: Bench, known: Known): Record<string, string> {
  const problems: Record<string, string> = {}
  instrumentProblems(bench, problems)
  wayProblems(bench, problems)
  for (const c of bench.channels) {
    const words = channelProblem(bench, c, known)
    if (words) problems[`channel/${c.id}`] ??= words
  }
  if (bench.bath && !(bench.bath.lowC < bench.bath.highC))
    problems.bath = 'The lower limit must lie below the upper one.'
  else if (bench.bath && (bench.bath.safeC < bench.bath.lowC || bench.bath.safeC > bench.bath.highC))
    problems.bath = 'The safe setpoint must lie within the limits.'
  const parsed = Bench.safeParse(bench)
  if (!parsed.success && Object.keys(problems).length === 0)
    problems.bench = issueWords(parsed.error.issues[0])
  return problems
}

/** Two parts of one case are reached over one line: the whole and a part of it, or two parts ("case/part"). */
const inOneCase = (a: BenchInstrument, b: BenchInstrument): boolean =>
  a.profile !== b.profile && caseOf(a.profile) === caseOf(b.profile)

function instrumentProblems(bench: Bench, problems: Record<string, string>): void {
  const addresses = new Map<string, BenchInstrument[]>()
  for (const i of bench.instruments) {
    const key = `instrument/${i.id}`
    const address = linkWords(i.link)
    const there = addresses.get(address) ?? []
    const other = there.find((each) => !inOneCase(each, i))?.name
    if ('host' in i.link && i.link.host.trim() === '')
      problems[key] = 'A host is needed: a name or an address such as 192.168.1.20.'
    else if ('path' in i.link && i.link.path.trim() === '')
      problems[key] = 'A port is needed. Find serial ports lists those of this computer.'
    else if (other) problems[key] = `${other} has the same address ${address}. One of them must be another.`
    else addresses.set(address, [...there, i])
    if (i.name.trim() === '') problems[key] = 'An instrument needs a name.'
  }
}

/** What the wires contradict: two things on one input, or one scanner in two places before the same meter. */
function wayProblems(bench: Bench, problems: Record<string, string>): void {
  const nameOf = (id: string) => bench.instruments.find((i) => i.id === id)?.name ?? id
  /** What sits on an input: a scanner or a channel. */
  const onInput = new Map<string, { channel: Channel; scanner: string | undefined }>()
  /** Where a scanner's output leads, by meter. */
  const leadsTo = new Map<string, { words: string; channel: Channel }>()
  const say = (c: Channel, words: string) => {
    problems[`channel/${c.id}`] ??= words
  }
  for (const c of bench.channels) {
    const twice = c.route.find((r, i) => c.route.findIndex((o) => o.scanner === r.scanner) !== i)
    if (twice) say(c, `${nameOf(twice.scanner)} stands twice on its way. A wire passes each scanner once.`)
    let from = { id: c.instrument, input: c.input }
    for (const hop of [...c.route, undefined]) {
      const input = `${from.id}/${from.input}`
      const words = `input ${from.input} of ${nameOf(from.id)}`
      const there = onInput.get(input)
      const bothEnd = there !== undefined && there.scanner === undefined && hop === undefined
      const meant = bothEnd && (against(c, there.channel) || atTwoCurrents(c, there.channel))
      if (there && !meant && (hop === undefined || there.scanner !== hop.scanner))
        say(
          c,
          there.scanner
            ? `${nameOf(there.scanner)} already sits on ${words}. Choose another input, or go through it.`
            : `${there.channel.name} already sits on ${words}. Choose another input.`,
        )
      if (!there) onInput.set(input, { channel: c, scanner: hop?.scanner })
      if (!hop) break
      const place = `${c.instrument}/${hop.scanner}`
      const before = leadsTo.get(place)
      if (before && before.words !== words)
        say(
          c,
          `${nameOf(hop.scanner)} hangs on ${before.words} for ${before.channel.name}, but on ${words} here. It has one output.`,
        )
      if (!before) leadsTo.set(place, { words, channel: c })
      from = { id: hop.scanner, input: hop.input }
    }
  }
}

/** A ratio to another channel's thermometer is read at one of the two inputs. */
const against = (a: Channel, b: Channel): boolean =>
  (a.reference?.kind === 'channel' && a.reference.channel === b.id) ||
  (b.reference?.kind === 'channel' && b.reference.channel === a.id)

/** One thermometer measured at two currents, for its self-heating. */
const atTwoCurrents = (a: Channel, b: Channel): boolean =>
  a.thermometer !== undefined && a.thermometer === b.thermometer && a.currentMa !== b.currentMa

function channelProblem(bench: Bench, c: Channel, { roleOf, kindOf }: Known): string | undefined {
  if (c.name.trim() === '') return 'A channel needs a name.'
  const meter = bench.instruments.find((i) => i.id === c.instrument)
  if (!meter) return 'Its bridge or meter is not on this bench. Choose one.'
  if (c.route.some((r) => !bench.instruments.some((i) => i.id === r.scanner)))
    return 'One of its scanners is not on this bench. Choose another, or take it out of the way.'
  if (roleOf(meter.profile) === 'ratio-bridge' && !c.reference)
    return 'A ratio needs a reference: a resistor, or the thermometer of another channel. Choose one.'
  const may = channelsToFollow(bench, c.id)
  const follow = (id: string, what: string): string | undefined => {
    const other = bench.channels.find((o) => o.id === id)
    if (!other) return `The channel that is ${what} is not on this bench any more. Choose another.`
    if (!may.includes(other)) return `${other.name} is in the end measured against ${c.name} itself.`
    return other.enabled ? undefined : `${other.name} is ${what}, but it is not measured. Switch it on.`
  }
  if (c.reference?.kind === 'channel') {
    const words = follow(c.reference.channel, 'the reference of its ratio')
    if (words) return words
  }
  if (c.junction?.kind === 'channel') {
    const words = follow(c.junction.channel, 'to measure its reference junction')
    if (words) return words
  }
  if (!c.thermometer && c.role !== 'monitor')
    return 'No thermometer is named, so only raw values can be shown.'
  if (c.thermometer && kindOf?.(c.thermometer) === 'thermocouple' && !c.junction)
    return 'Say how its reference junction is kept; until then it is taken to be at 0 °C.'
  return undefined
}
