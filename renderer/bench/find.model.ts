import type { ProfileRow } from '../../app/contract/studies.ts'
import type { BenchInstrument, LinkSpec } from '../../app/records/bench.ts'
import { linkWords } from '../../app/records/link-words.ts'
import type { InstrumentRecord } from '../../app/records/register.ts'
import { caseOf, freeId } from './bench.model.ts'

/** An instrument that answered a search. */
export interface Found {
  link: LinkSpec
  identity: string
  profile: string | null
}

/** A place where an instrument was noticed; it has not been spoken to. */
export interface Sighting {
  link: LinkSpec
  name: string
  told: string
  by: 'announced' | 'broadcast' | 'plugged-in'
}

/** How each was noticed, for people. */
export const NOTICED: Readonly<Record<Sighting['by'], string>> = {
  announced: 'announces itself',
  broadcast: 'answered on its network',
  'plugged-in': 'is plugged in',
}

const IPV4 = /^(?:25[0-5]|2[0-4]\d|1?\d?\d)(?:\.(?:25[0-5]|2[0-4]\d|1?\d?\d)){3}$/
const MOST_NETWORKS = 8

/** Broadcast addresses as they are typed, none of them allowed; undefined where one is no address. */
export function readNetworks(text: string): string[] | undefined {
  const networks = [...new Set(text.split(/[\s,;]+/).filter(Boolean))]
  return networks.length <= MOST_NETWORKS && networks.every((each) => IPV4.test(each)) ? networks : undefined
}

const MOST_PORTS = 32

/** Ports as they are typed: '5025, 5301-5308'; undefined where they are none, or more than are asked at once. */
export function readPorts(text: string): number[] | undefined {
  const ports: number[] = []
  for (const part of text.split(/[\s,;]+/).filter(Boolean)) {
    const [, low, high] = /^(\d{1,5})(?:-(\d{1,5}))?$/.exec(part) ?? []
    if (low === undefined) return undefined
    const [from, to] = [Number(low), Number(high ?? low)]
    if (from < 1 || to > 65_535 || to < from || to - from >= MOST_PORTS) return undefined
    for (let port = from; port <= to; port++) ports.push(port)
  }
  return ports.length > 0 && ports.length <= MOST_PORTS ? [...new Set(ports)] : undefined
}

/** Model and serial number of an identity: maker, model, serial number, version (IEEE 488.2, 10.14; number from memory). */
const partsOf = (identity: string) => {
  const [maker = '', model = '', serial = ''] = identity.split(',').map((part) => part.trim())
  return { maker, model, serial: serial === '0' ? '' : serial }
}

/** What a person calls it before anybody has named it: its kind, its model and its number. */
export function nameOf({ identity, profile }: Found, profiles: readonly ProfileRow[]): string {
  const { maker, model, serial } = partsOf(identity)
  const role = profiles.find(({ id }) => id === profile)?.role
  const words = [role && ROLE_WORDS[role], model || maker, serial].filter(Boolean).join(' ')
  return words || identity.slice(0, 60)
}

const ROLE_WORDS: Readonly<Record<string, string>> = {
  'ratio-bridge': 'Ratio bridge',
  scanner: 'Scanner',
  bath: 'Bath',
  meter: 'Meter',
  environment: 'Air sensor',
}

/** Those of the found that the bench has not got yet, as instruments of it; their records are known by the serial number. */
export function toAdd(
  found: readonly Found[],
  have: readonly BenchInstrument[],
  profiles: readonly ProfileRow[],
  records: readonly InstrumentRecord[],
): BenchInstrument[] {
  const taken = have.map(({ id }) => id)
  const added: BenchInstrument[] = []
  for (const one of found) {
    const known = one.profile
    if (known === null || have.some(({ link }) => sameLink(link, one.link))) continue
    const { serial } = partsOf(one.identity)
    // What else is in the same case comes along.
    const inCase = profiles.map(({ id }) => id).filter((id) => id !== known && caseOf(id) === known)
    for (const profile of [known, ...inCase]) {
      const role = profiles.find(({ id }) => id === profile)?.role ?? 'instrument'
      const id = freeId(role === 'ratio-bridge' ? 'bridge' : role, [...taken, ...added.map((a) => a.id)])
      const record = serial === '' ? undefined : records.find((r) => r.serial === serial && r.role === role)
      added.push({
        id,
        name: nameOf({ ...one, profile }, profiles),
        profile,
        link: one.link,
        ...(serial !== '' && { serial }),
        ...(record && { register: record.id }),
      })
    }
  }
  return added
}

const sameLink = (a: LinkSpec, b: LinkSpec): boolean => a.kind === b.kind && linkWords(a) === linkWords(b)
