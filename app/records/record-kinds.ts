import type { z } from 'zod'
import { Bath } from './bath.ts'
import { Bench } from './bench.ts'
import { Cell } from './cell.ts'
import { Customer } from './customer.ts'
import { Item, Order } from './order.ts'
import { Person } from './person.ts'
import { Plan } from './plan.ts'
import { Fluid, InstrumentRecord, Resistor, Thermometer } from './register.ts'

/** Narrow row of one record: what a list shows of it and what it is found by. */
export interface RecordRow {
  name: string
  /** What it is, in a word: 'sprt', 'ratio-bridge'. */
  type?: string
  /** Number that the maker or the laboratory gave it. */
  serial?: string
  /** Whom it belongs to. */
  owner?: string
  /** Day on which it is due next, ISO 8601; absent: never. */
  due?: string | undefined
  /** What else is searched: words that the row does not show. */
  words?: readonly (string | undefined)[]
  /** Other records that it names, by what they are to it: { role: 'order', id: 'O-17' }. Lists can be asked for by them. */
  links?: readonly RecordLink[]
  /** A few small values that its list shows beside these. */
  facts?: Readonly<Record<string, string | number | boolean | null | undefined>>
}

export interface RecordLink {
  readonly role: string
  readonly id: string
}

/**
 * All that the store, the lists and the search need to know of one kind of record. A new kind is one of these in
 * RECORD_KINDS and nothing else: no table, no migration.
 */
export interface RecordKind<S extends z.ZodType = z.ZodType> {
  readonly schema: S
  /**
   * Fields that are lists and grow with the years, such as calibrations: each element is kept as a row of its own, and a
   * version holds the elements that were added and no others.
   */
  readonly lists: readonly string[]
  /** Counts up whenever `row` says something else of the same value: rows stored before are made anew. */
  readonly rowForm: number
  readonly row: (value: z.output<S>) => RecordRow
}

/** Kinds of which records can be due. */
export const DUE_KINDS = ['thermometer', 'resistor', 'instrument', 'cell', 'bath'] as const

export const recordKind = <S extends z.ZodType>(kind: RecordKind<S>) => kind

/** The newest of dated calibrations says when the next is due. */
function latestDue(calibrations: readonly { date: string; due?: string | undefined }[]): string | undefined {
  let newest: { date: string; due?: string | undefined } | undefined
  for (const one of calibrations) if (!newest || one.date >= newest.date) newest = one
  return newest?.due
}

/** A bridge is checked between its calibrations: what comes first is what it is due for. */
const firstDue = (calibration: string | undefined, check: string | undefined) => ({
  due: [calibration, check].filter((day) => day !== undefined).sort()[0],
})

/** What an instrument is due for first, where that is a check, and when it is due for the other. */
function laterDue(calibration: string | undefined, check: string | undefined) {
  const isCheck = check !== undefined && (calibration === undefined || check < calibration)
  return { dueFor: isCheck ? 'check' : undefined, laterDue: isCheck ? calibration : check }
}

const certificates = (calibrations: readonly { certificate: string; laboratory: string }[]) =>
  calibrations.flatMap(({ certificate, laboratory }) => [certificate, laboratory])

/** Every kind of lasting record, described once. */
export const RECORD_KINDS = {
  thermometer: recordKind({
    schema: Thermometer,
    lists: ['calibrations', 'wtpHistory', 'repairs'],
    rowForm: 1,
    row: (t) => ({
      name: t.name,
      type: t.kind,
      serial: t.serial,
      owner: t.owner,
      due: latestDue(t.calibrations),
      words: [t.maker, t.model, t.note, ...certificates(t.calibrations)],
      facts: {
        lowC: t.lowC,
        highC: t.highC,
        nominalOhm: t.nominalOhm,
        calibrations: t.calibrations.length,
        calibrated: t.calibrations
          .map(({ date }) => date)
          .sort()
          .at(-1),
        wtpEntries: t.wtpHistory.length,
      },
    }),
  }),
  resistor: recordKind({
    schema: Resistor,
    lists: ['calibrations', 'comparisons', 'repairs'],
    rowForm: 1,
    row: (r) => ({
      name: r.name,
      type: `${r.nominalOhm} ohm`,
      serial: r.serial,
      due: latestDue(r.calibrations),
      words: [r.maker, r.note, ...certificates(r.calibrations)],
      facts: {
        nominalOhm: r.nominalOhm,
        calibrations: r.calibrations.length,
        calibrated: r.calibrations
          .map(({ date }) => date)
          .sort()
          .at(-1),
      },
    }),
  }),
  instrument: recordKind({
    schema: InstrumentRecord,
    lists: ['checks', 'repairs'],
    rowForm: 2,
    row: (i) => ({
      name: i.name,
      type: i.role,
      serial: i.serial,
      ...firstDue(i.due, latestDue(i.checks ?? [])),
      words: [i.maker, i.model, i.certificate, i.laboratory, i.note],
      facts: {
        calibrated: i.calibrated,
        checks: i.checks?.length ?? 0,
        ...laterDue(i.due, latestDue(i.checks ?? [])),
      },
    }),
  }),
  fluid: recordKind({
    schema: Fluid,
    lists: [],
    rowForm: 1,
    row: (f) => ({ name: f.name, words: f.cautions, facts: { lowC: f.lowC, highC: f.highC } }),
  }),
  cell: recordKind({
    schema: Cell,
    lists: ['plateaus', 'comparisons', 'repairs'],
    rowForm: 1,
    row: (c) => ({
      name: c.name,
      type: c.fixedPoint,
      serial: c.serial,
      due: c.due,
      words: [c.maker, c.certificate, c.laboratory, c.note],
      facts: { calibrated: c.calibrated, plateaus: c.plateaus?.length ?? 0 },
    }),
  }),
  bath: recordKind({
    schema: Bath,
    lists: ['surveys', 'repairs'],
    rowForm: 1,
    row: (b) => ({
      name: b.name,
      serial: b.serial,
      due: b.due,
      words: [b.maker, b.model, b.note],
      facts: {
        calibrated: b.surveys
          ?.map(({ date }) => date)
          .sort()
          .at(-1),
        surveys: b.surveys?.length ?? 0,
      },
    }),
  }),
  customer: recordKind({
    schema: Customer,
    lists: [],
    rowForm: 1,
    row: (c) => ({ name: c.name, words: [...c.address, c.contact, c.email, c.note] }),
  }),
  order: recordKind({
    schema: Order,
    lists: [],
    rowForm: 1,
    row: (o) => ({
      name: o.number,
      due: o.wantedBy,
      words: o.remarks,
      links: [{ role: 'customer', id: o.customer }],
      facts: { received: o.received },
    }),
  }),
  item: recordKind({
    schema: Item,
    lists: [],
    rowForm: 1,
    row: (i) => ({
      name: i.id,
      type: i.state,
      words: [i.condition],
      links: [
        { role: 'order', id: i.order },
        { role: 'customer', id: i.customer },
        { role: 'thermometer', id: i.thermometer },
        ...(i.session === undefined ? [] : [{ role: 'session', id: i.session }]),
      ],
      facts: { lowC: i.asked.lowC, highC: i.asked.highC },
    }),
  }),
  bench: recordKind({ schema: Bench, lists: [], rowForm: 1, row: ({ name }) => ({ name }) }),
  person: recordKind({
    schema: Person,
    lists: [],
    rowForm: 1,
    row: ({ name, position, rights, closed }) => ({
      name,
      type: position ?? '',
      facts: { rights: rights.join(' '), closed: closed ?? null },
    }),
  }),
  plan: recordKind({
    schema: Plan,
    lists: [],
    rowForm: 1,
    row: ({ name, setpoints }) => ({ name, facts: { setpoints: setpoints.length } }),
  }),
} as const
