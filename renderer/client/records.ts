import { useState } from 'react'
import type { RecordKindName, RecordLine } from '../../app/contract/pages.ts'
import type { Finder } from '../parts/Choice.tsx'
import { type Answer, useAnswer } from './ask.ts'
import { station } from './connect.ts'
import { useStation } from './state.ts'

/** Records of the register as the places need them: those that are named, and those to choose from. */

type Register = Awaited<ReturnType<typeof station.register.some>>
type Ids = readonly (string | undefined)[]
export interface Named {
  thermometers?: Ids
  resistors?: Ids
  instruments?: Ids
  fluids?: Ids
  cells?: Ids
  baths?: Ids
}

const told = (ids: Ids | undefined) => [...new Set(ids)].filter((id) => id !== undefined)

/** The records of these ids, whole. */
export function useRecords(named: Named | undefined): Answer<Register> {
  const version = useStation((state) => state?.versions.register)
  const asked = named && {
    thermometers: told(named.thermometers),
    resistors: told(named.resistors),
    instruments: told(named.instruments),
    fluids: told(named.fluids),
    cells: told(named.cells),
    baths: told(named.baths),
  }
  return useAnswer(asked && (() => station.register.some(asked)), [JSON.stringify(asked), version])
}

export interface Choices {
  lines: readonly RecordLine[]
  finder: Finder | undefined
  known: boolean
}

const MOST_CHOICES = 200

/** Records of a kind to choose from: by name, or those that are found by what is typed; those chosen are always there. */
export function useChoices(kind: RecordKindName, chosen: Ids, type?: string): Choices {
  const version = useStation((state) => state?.versions.register)
  const [typed, setTyped] = useState('')
  const ids = told(chosen)
  const shown = useAnswer(
    () =>
      station.register.list({
        kinds: [kind],
        search: typed,
        most: MOST_CHOICES,
        ...(type !== undefined && { type }),
      }),
    [kind, typed, type, version],
  )
  const own = useAnswer(
    ids.length === 0
      ? undefined
      : () => station.register.list({ kinds: [kind], ids, states: ['kept', 'retired'], most: 500 }),
    [kind, JSON.stringify(ids), version],
  )
  const rows = shown.data?.rows ?? []
  const others = (own.data?.rows ?? []).filter(({ id }) => !rows.some((row) => row.id === id))
  const total = shown.data?.total ?? 0
  const finder =
    total > rows.length || typed !== ''
      ? {
          typed,
          onTyped: setTyped,
          words: total > rows.length ? `The first ${rows.length} of ${total}.` : `${total} found.`,
        }
      : undefined
  return { lines: [...others, ...rows], finder, known: shown.data !== undefined }
}

/** Names by id, for a place that shows them: a record out of the lists still has one. */
export function useNames(kind: RecordKindName, ids: readonly string[]): ReadonlyMap<string, string> {
  const version = useStation((state) => state?.versions.register)
  const asked = [...new Set(ids)].sort()
  const { data } = useAnswer(
    asked.length === 0
      ? undefined
      : async () => {
          const names: [string, string][] = []
          for (let from = 0; from < asked.length; from += 500) {
            const some = { kinds: [kind], ids: asked.slice(from, from + 500), most: 500 }
            const { rows } = await station.register.list({ ...some, states: ['kept', 'retired', 'removed'] })
            names.push(...rows.map(({ id, name }): [string, string] => [id, name]))
          }
          return names
        },
    [kind, JSON.stringify(asked), version],
  )
  return new Map(data)
}

/** Every bath fluid, whole: a laboratory has a few, and what they stand is needed to choose one. */
export function useFluids(): Answer<Register> {
  const version = useStation((state) => state?.versions.register)
  return useAnswer(async () => {
    const { rows } = await station.register.list({ kinds: ['fluid'], most: 500 })
    return station.register.some({ fluids: rows.map(({ id }) => id) })
  }, [version])
}

/** Resistors to choose from, whole, for what compares their certificates. */
export function useResistors(chosen: Ids): { resistors: Register['resistors']; finder: Finder | undefined } {
  const { lines, finder } = useChoices('resistor', chosen)
  const { data } = useRecords({ resistors: lines.map(({ id }) => id) })
  return { resistors: data?.resistors ?? [], finder }
}

/** The laboratory's own standards, whole: its standard thermometers and its reference resistors that are calibrated. */
export function useStandards(): Answer<Register> {
  const version = useStation((state) => state?.versions.register)
  return useAnswer(async () => {
    const listed = (kind: RecordKindName, type?: string) =>
      station.register.list({ kinds: [kind], most: MOST_CHOICES, ...(type !== undefined && { type }) })
    const [thermometers, resistors] = await Promise.all([listed('thermometer', 'sprt'), listed('resistor')])
    const calibrated = (rows: readonly RecordLine[]) =>
      rows.filter(({ facts }) => Number(facts.calibrations) > 0).map(({ id }) => id)
    return station.register.some({
      thermometers: calibrated(thermometers.rows),
      resistors: calibrated(resistors.rows),
    })
  }, [version])
}

/** Ratio bridges to choose from, whole. */
export function useBridges(chosen: Ids): { bridges: Register['instruments']; finder: Finder | undefined } {
  const { lines, finder } = useChoices('instrument', chosen, 'ratio-bridge')
  const { data } = useRecords({ instruments: lines.map(({ id }) => id) })
  return { bridges: data?.instruments ?? [], finder }
}

/** Thermometers that have one of these ids or one of these serial numbers. */
export function useThermometers(ids: Ids, serials: readonly string[]): Answer<Register['thermometers']> {
  const version = useStation((state) => state?.versions.register)
  const numbers = [...new Set(serials.map((serial) => serial.trim()))].filter(Boolean)
  const named = told(ids).filter((id) => id !== '')
  return useAnswer(async () => {
    const found = new Set(named)
    for (const search of numbers) {
      const { rows } = await station.register.list({ kinds: ['thermometer'], search, most: MOST_CHOICES })
      for (const { id, serial } of rows) if (serial === search) found.add(id)
    }
    return (await station.register.some({ thermometers: [...found] })).thermometers
  }, [JSON.stringify([named, numbers]), version])
}

/** Every fixed-point cell, whole: a laboratory has a dozen. */
export function useCells(): Answer<Register> {
  const version = useStation((state) => state?.versions.register)
  return useAnswer(async () => {
    const { rows } = await station.register.list({ kinds: ['cell'], most: 500 })
    return station.register.some({ cells: rows.map(({ id }) => id) })
  }, [version])
}
