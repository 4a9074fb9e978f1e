import { daysBetween, utcDay } from '../../../app/base/times.ts'
import type { LedgerLine, RecordKindName, RecordLine } from '../../../app/contract/pages.ts'
import type { ArchiveRow, LedgerEntry } from '../../../app/contract/studies.ts'
import { dueLineWords, dueName } from '../../../app/records/due.ts'
import { DUE_KINDS, RECORD_KINDS, type RecordKind } from '../../../app/records/record-kinds.ts'
import type { Register } from '../../../app/records/register.ts'

/** Lists as a station answers them, of records that are all in memory. */

interface Page {
  from: number
  most: number
}

export const paged = <R>(all: readonly R[], { from, most }: Page) => ({
  total: all.length,
  rows: all.slice(from, from + most),
})

const SHELVES = {
  thermometer: 'thermometers',
  resistor: 'resistors',
  instrument: 'instruments',
  fluid: 'fluids',
  cell: 'cells',
} as const

function linesOf(register: Register, kinds: readonly RecordKindName[]): RecordLine[] {
  return kinds.flatMap((kind) => {
    const shelf = SHELVES[kind as keyof typeof SHELVES] as keyof Register | undefined
    if (!shelf) return []
    return (register[shelf] ?? []).map((entry) => {
      const row = (RECORD_KINDS[kind] as RecordKind).row(entry)
      const facts = Object.entries(row.facts ?? {}).flatMap(([key, value]) =>
        value === undefined ? [] : [[key, value] as const],
      )
      return {
        ...{ kind, id: entry.id, name: row.name, type: row.type ?? '', serial: row.serial ?? '' },
        ...{ owner: row.owner ?? '', due: row.due ?? null, state: 'kept' as const, utcUs: 0, rev: 1 },
        facts: Object.fromEntries(facts),
        damaged: null,
      }
    })
  })
}

export interface RecordsAsked extends Page {
  kinds: readonly RecordKindName[]
  search: string
  ids?: readonly string[] | undefined
  type?: string | undefined
  states: readonly RecordLine['state'][]
  sort: string
  reverse: boolean
}

const found = (text: string, search: string) =>
  search
    .toLowerCase()
    .split(/\s+/)
    .every((word) => text.toLowerCase().includes(word))

export function listedRecords(register: Register, asked: RecordsAsked, retired: ReadonlySet<string>) {
  const key = (line: RecordLine) =>
    asked.sort === 'due' ? (line.due ?? '~') : asked.sort === 'serial' ? line.serial : line.name
  const lines = linesOf(register, asked.kinds)
    .map((line) => ({ ...line, state: retired.has(line.id) ? ('retired' as const) : ('kept' as const) }))
    .filter(({ state }) => asked.states.includes(state))
    .filter(({ id }) => !asked.ids || asked.ids.includes(id))
    .filter(({ type }) => asked.type === undefined || type === asked.type)
    .filter(({ id, name, serial }) => found(`${id} ${name} ${serial}`, asked.search))
    .sort((a, b) => key(a).localeCompare(key(b), undefined, { sensitivity: 'base' }))
  return paged(asked.reverse ? lines.reverse() : lines, asked)
}

type Ids = readonly string[]
export const someRecords = (
  register: Register,
  ids: { thermometers: Ids; resistors: Ids; instruments: Ids; fluids: Ids; cells: Ids },
): Register => ({
  thermometers: register.thermometers.filter(({ id }) => ids.thermometers.includes(id)),
  resistors: register.resistors.filter(({ id }) => ids.resistors.includes(id)),
  instruments: register.instruments.filter(({ id }) => ids.instruments.includes(id)),
  fluids: register.fluids.filter(({ id }) => ids.fluids.includes(id)),
  cells: (register.cells ?? []).filter(({ id }) => ids.cells.includes(id)),
})

export function dueRecords(register: Register, asked: Page & { reverse: boolean }) {
  const today = utcDay(Date.now() * 1000)
  const all = linesOf(register, DUE_KINDS)
    .flatMap((line) => {
      const { id: entry, due } = line
      if (due === null) return []
      return [
        { entry, name: dueName(line), due, days: daysBetween(today, due), words: dueLineWords(line, today) },
      ]
    })
    .sort((a, b) => a.due.localeCompare(b.due))
  return paged(asked.reverse ? all.reverse() : all, asked)
}

const SAVED = /^(thermometer|resistor|instrument|fluid) saved$/

export function ledgerLines(
  ledger: readonly LedgerEntry[],
  asked: Page & { subject?: string | undefined; search: string; reverse: boolean },
) {
  const all = ledger
    .filter((e) => asked.subject === undefined || e.subject === asked.subject)
    .filter((e) => found(`${e.who} ${e.what} ${e.subject} ${e.why}`, asked.search))
    .map(
      ({ old, new: _, ...line }): LedgerLine => ({
        ...line,
        canTakeBack:
          SAVED.test(line.what) &&
          old !== null &&
          !ledger.some((e) => e.subject === line.subject && e.what === line.what && e.n > line.n),
      }),
    )
  return paged(asked.reverse ? all : all.reverse(), asked)
}

export function listedSessions(
  rows: readonly ArchiveRow[],
  asked: Page & { search: string; ids?: readonly string[] | undefined; sort: string; reverse: boolean },
) {
  const key = ({ info, ...row }: ArchiveRow): number | string =>
    asked.sort === 'name'
      ? info.name.toLowerCase()
      : asked.sort === 'readings' || asked.sort === 'points' || asked.sort === 'bytes'
        ? row[asked.sort]
        : asked.sort === 'operator'
          ? info.operator
          : info.startedUtcUs
  const all = rows
    .filter(({ info }) => !asked.ids || asked.ids.includes(info.id))
    .filter(({ info }) => found(info.name, asked.search))
    .toSorted((a, b) => (key(a) < key(b) ? 1 : key(a) > key(b) ? -1 : 0))
  return paged(asked.reverse ? all.reverse() : all, asked)
}
