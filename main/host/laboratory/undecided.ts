import { isDeepStrictEqual } from 'node:util'
import { at, first } from '../../../app/base/lists.ts'
import type { Undecided } from '../../../app/contract/calls-laboratory.ts'
import type { Kind } from '../../store/records/kinds.ts'
import type { StationStore } from '../../store/station-store.ts'

/** Fields shown of one record; what is beyond is said to be more. */
const MOST_FIELDS = 60

/** A record's values, each by the words of its way: 'calibrations 2 due'. */
function flat(value: unknown, way = ''): [string, unknown][] {
  if (value === null || typeof value !== 'object') return [[way, value]]
  const entries = Array.isArray(value)
    ? value.map((one, i): [string, unknown] => [String(i + 1), one])
    : Object.entries(value)
  return entries.flatMap(([key, one]) => flat(one, way === '' ? key : `${way} ${key}`))
}

const STATE_WORDS = { kept: 'in the lists', retired: 'retired', removed: 'taken away' }

/** A record that two benches changed at the same time: its sides, with what they differ in. */
export function undecidedOf(
  store: StationStore,
  { kind, id }: { kind: Kind; id: string },
  nameOf: (station: string) => string,
): Undecided {
  const sides = store.records.sides(kind, id)
  const maps = sides.map(({ whole, state }) => new Map([...flat(whole), ['state', STATE_WORDS[state]]]))
  const all = [...new Set(maps.flatMap((map) => [...map.keys()]))]
  const differing = all.filter((field) =>
    maps.some((map) => !isDeepStrictEqual(map.get(field), first(maps).get(field))),
  )
  const fields = differing.slice(0, MOST_FIELDS)
  const { name, number } = (sides[0]?.whole ?? {}) as { name?: unknown; number?: unknown }
  const more = differing.length - fields.length
  return {
    kind,
    id,
    name: ([name, number].find((one) => typeof one === 'string') as string | undefined) ?? id,
    fields: more > 0 ? [...fields, `and ${more} more`] : fields,
    sides: sides.map(({ hash, who, station, utcUs, why, state }, i) => ({
      ...{ hash, who, utcUs, why, state, bench: nameOf(station), holds: i === 0 },
      values: [...fields.map((field) => said(at(maps, i).get(field))), ...(more > 0 ? [''] : [])],
    })),
  }
}

const said = (value: unknown) => (value === undefined ? 'nothing' : String(value))
