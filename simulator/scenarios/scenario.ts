import type { ThermocoupleType } from '../../app/kinds/conversion.ts'
import type { Fit } from '../../app/kinds/kind.ts'
import type { BathDesign } from '../physics/bath.ts'
import type { CellDesign } from '../physics/cell.ts'
import type { ProgrammeDesign } from '../physics/cell-programme.ts'
import type { Terminal } from '../physics/circuit.ts'
import type { Wiring } from '../physics/network.ts'

export const SCENARIO_NAMES = [
  'demo',
  'quiet',
  'wide',
  'mixed',
  'kinds',
  'fixed-point',
  'cell-H2O',
  'cell-Ga',
  'cell-In',
  'cell-Sn',
  'cell-Zn',
  'cells',
  'bridge-check',
] as const
export type ScenarioName = (typeof SCENARIO_NAMES)[number]

/** A thermometer of the lab before its true coefficients are drawn. */
export interface ThermometerDesign {
  id: string
  name: string
  serial: string
  kind: 'sprt' | 'prt' | 'thermistor' | 'thermocouple'
  role: 'reference' | 'under-test' | 'check' | 'monitor'
  /** Id of the bath or cell it is in, or 'room'. */
  place: string
  /** Nominal resistance at 0 degC, for a thermistor at 25 degC; absent for a thermocouple. */
  nominalOhm?: number
  lowC: number
  highC: number
  currentMa: number
  /** Stated self-heating at that current at nominal resistance, mK. */
  selfHeatingMk: number
  lagS: number
  fit?: Fit
  thermocoupleType?: ThermocoupleType
  /** With it come an ITS-90 certificate and R(WTP) entries; without it nominal data only. */
  certified?: boolean
  /** A reference that stands at a place of its own, not at the one that others are compared with. */
  apart?: boolean
}

export interface ResistorDesign {
  id: string
  name: string
  serial: string
  nominalOhm: number
  /** Stated relative expanded uncertainty (k = 2), where it is not the usual one. */
  expandedRelative?: number
}

/** Resistors wired together on one pair of terminals. */
export interface NetworkDesign {
  id: string
  name: string
  wiring: Wiring
}

export type InstrumentDesign =
  | {
      id: string
      kind: 'rb-8' | 'rb-3'
      serial: string
      inputs: Record<number, Terminal>
      /** Resistor at the reference terminals of each input. */
      resistors: Record<number, string>
    }
  | { id: string; kind: 'cs-16' | 'cs-32'; serial: string; inputs: Record<number, Terminal>; slots?: number }
  | { id: string; kind: 'tb-2' | 'tb-1' | 'tb-2m'; serial: string; bath: string }
  /** Its programme works the scenario's first cell. */
  | { id: string; kind: 'fc-1'; serial: string; bath: string; programme: ProgrammeDesign }
  | { id: string; kind: 'dm-7'; serial: string; inputs: Record<number, Terminal> }
  | { id: string; kind: 'es-1' | 'es-2'; serial: string }

export type InstrumentKind = InstrumentDesign['kind']

/** How a channel of the ready-made bench is measured; its way through the scanners follows from the wiring. */
export interface ChannelDesign {
  id: string
  /** What it measures: a thermometer or a network. */
  thermometer?: string
  network?: string
  /** Where it is not the thermometer's or network's own. */
  name?: string
  currentMa?: number
  settleMs: number
  /** Readings thrown away after each selection: the first one closes the contacts of the bridge's own input. */
  discard?: number
  average: number
  readings?: number
  keepWarmMa?: number
}

/** One arrangement of the lab. */
export interface Scenario {
  name: string
  title: string
  baths: BathDesign[]
  cells: CellDesign[]
  resistors: ResistorDesign[]
  networks?: NetworkDesign[]
  thermometers: ThermometerDesign[]
  instruments: InstrumentDesign[]
  channels: ChannelDesign[]
  /** The bath that the bench names as its own, and what the bench states of it. */
  bench: {
    /** Absent: nothing is heated. */
    bath?: string
    fluid: 'silicone' | 'air'
    lowC: number
    highC: number
    safeC: number
    uniformityMk: number
    stabilityMk: number
    scanEveryS: number
  }
}
