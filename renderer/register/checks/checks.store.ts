import { useStore } from 'zustand'
import { createStore } from 'zustand/vanilla'
import type { FoundPlateau } from '../../../app/contract/checks.ts'
import type { Texts } from '../../parts/forms.ts'

/** A plateau that was put into the set. */
export interface SetPlateau {
  key: string
  session: string
  sessionName: string
  channel: string
  date: string
  thermometer: string | null
  fixedPoint: string
  /** Register id of the cell, where it is one of the register's. */
  cell?: string | undefined
  found: FoundPlateau
}

/** Rows of a table that is typed or pasted, as texts. */
export type Rows = readonly Texts[]

export interface ChecksState {
  /** What has been put together so far; kept by this window until it is recorded or put away. */
  set: readonly SetPlateau[]
  /** The order of cells that is gone through, as written; empty: none. */
  sequence: string
  interchange: Rows
  networks: Rows
  ratios: Rows
  /** Several resistors at once: ratios of pairs, and what is known of them. */
  setRatios: Rows
  setKnown: Rows
}

const STORED = 'stillpoint-checks'
const FRESH: ChecksState = {
  set: [],
  sequence: '',
  interchange: [],
  networks: [],
  ratios: [],
  setRatios: [],
  setKnown: [],
}

function stored(): Partial<ChecksState> {
  try {
    return JSON.parse(localStorage.getItem(STORED) ?? '{}') as Partial<ChecksState>
  } catch {
    return {}
  }
}

export const checks = createStore<ChecksState>(() => ({ ...FRESH, ...stored() }))
export const useChecks = <T>(select: (state: ChecksState) => T): T => useStore(checks, select)

checks.subscribe((kept) => localStorage.setItem(STORED, JSON.stringify(kept)))
