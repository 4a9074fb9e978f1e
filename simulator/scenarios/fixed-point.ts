import type { CellDesign } from '../physics/cell.ts'
import type { ProgrammeDesign } from '../physics/cell-programme.ts'
import type { ChannelDesign, Scenario, ThermometerDesign } from './scenario.ts'
import { furnace, oilBath, prt, RESISTOR_100, sprt } from './stock.ts'

export const CELL_SUBSTANCES = ['H2O', 'Ga', 'In', 'Sn', 'Zn'] as const
export type CellSubstance = (typeof CELL_SUBSTANCES)[number]

/** Depth of the middle of the element below the surface of the melt, m. */
export const ELEMENT_DEPTH_M = 0.15

interface Substance {
  /** ITS-90 table 1, degC. */
  t90C: number
  /** ITS-90 table 2, K per metre of depth. */
  perDepth: number
  /** Heat of fusion times the mass of the cell, J, and heat capacity, J/K; supercooling. Common practice, no source. */
  latentJ: number
  capacityJPerK: number
  supercoolK: number
  moltenAtStart: number
}

const SUBSTANCES: Readonly<Record<CellSubstance, Substance>> = {
  H2O: {
    t90C: 0.01,
    perDepth: -0.73e-3,
    latentJ: 133_000,
    capacityJPerK: 1700,
    supercoolK: 6,
    moltenAtStart: 0.3,
  },
  Ga: {
    t90C: 29.7646,
    perDepth: -1.2e-3,
    latentJ: 80_000,
    capacityJPerK: 400,
    supercoolK: 25,
    moltenAtStart: 0,
  },
  In: {
    t90C: 156.5985,
    perDepth: 3.3e-3,
    latentJ: 28_600,
    capacityJPerK: 260,
    supercoolK: 0.15,
    moltenAtStart: 0,
  },
  Sn: {
    t90C: 231.928,
    perDepth: 2.2e-3,
    latentJ: 60_000,
    capacityJPerK: 260,
    supercoolK: 12,
    moltenAtStart: 0,
  },
  Zn: {
    t90C: 419.527,
    perDepth: 2.7e-3,
    latentJ: 110_000,
    capacityJPerK: 450,
    supercoolK: 0.05,
    moltenAtStart: 0,
  },
}

/** True temperature of the plateau at the element, degC: the fixed point and the head of liquid above it. */
export function plateauC(substance: CellSubstance): number {
  const { t90C, perDepth } = SUBSTANCES[substance]
  return t90C + ELEMENT_DEPTH_M * perDepth
}

/** Four to five time constants of the thermometer: after a change of current its warmth must come to rest, ms. */
const PAIR_SETTLE_MS = 30_000

/** What the furnace does with its cell: holds the mantle of ice, melts gallium, and melts and freezes the metals. */
function programmeOf(substance: CellSubstance): ProgrammeDesign {
  const { supercoolK } = SUBSTANCES[substance]
  return {
    kind: substance === 'H2O' ? 'hold' : substance === 'Ga' ? 'melt' : 'cycle',
    meltAboveK: substance === 'Ga' ? 2 : 5,
    freezeBelowK: 3,
    seedBelowK: supercoolK + 2,
  }
}

export const standsInOil = (substance: CellSubstance): boolean => SUBSTANCES[substance].t90C < 100

/** A cell of a substance in a furnace or bath. */
export function cellOf(
  substance: CellSubstance,
  place: Pick<CellDesign, 'id' | 'furnace'> & Partial<Pick<CellDesign, 'moltenAtStart'>>,
): CellDesign {
  const { latentJ, capacityJPerK, supercoolK, moltenAtStart } = SUBSTANCES[substance]
  return {
    substance,
    fixedPointC: plateauC(substance),
    latentJ,
    capacityJPerK,
    couplingWPerK: standsInOil(substance) ? 8 : 3,
    supercoolK,
    impurityK: 1.5e-4,
    moltenAtStart,
    ...place,
  }
}

/** An SPRT without a certificate, for cells. */
export const cellSprt = (place: string): ThermometerDesign => ({
  ...sprt(
    { id: 'sprt-0212', name: 'SPRT in the cell', serial: 'QS25-0212', role: 'under-test', place },
    false,
  ),
  highC: 420,
})

/** The thermometer in the cell, at its own current and at the root of two times it. */
export const CELL_CHANNELS: readonly ChannelDesign[] = [
  {
    id: 'cell',
    thermometer: 'sprt-0212',
    settleMs: PAIR_SETTLE_MS,
    discard: 1,
    average: 8,
    keepWarmMa: 1,
  },
  {
    id: 'cell-high',
    name: 'SPRT in the cell, at \u221a2 mA',
    thermometer: 'sprt-0212',
    currentMa: Math.SQRT2,
    settleMs: PAIR_SETTLE_MS,
    discard: 1,
    average: 8,
    keepWarmMa: 1,
  },
]

/** A fixed-point cell in a furnace (water and gallium in the oil bath), an SPRT in it and a PRT beside it. */
export function fixedPoint(substance: CellSubstance): Scenario {
  const { t90C } = SUBSTANCES[substance]
  const inOil = standsInOil(substance)
  const cell = cellOf(substance, { id: 'cell', furnace: 'furnace' })
  return {
    name: 'fixed-point',
    title: `Quennick Temperature Laboratory, ${substance} cell`,
    baths: [inOil ? oilBath('furnace') : furnace('furnace', t90C + 60)],
    cells: [cell],
    resistors: [RESISTOR_100],
    thermometers: [
      cellSprt('cell'),
      {
        ...prt({
          id: 'prt-1031',
          name: 'PRT beside the cell',
          serial: 'QP100-1031',
          role: 'monitor',
          place: 'furnace',
        }),
        highC: 450,
      },
    ],
    instruments: [
      {
        id: 'bridge',
        kind: 'rb-8',
        serial: '0817',
        inputs: { 1: { thermometer: 'sprt-0212' }, 2: { thermometer: 'prt-1031' } },
        resistors: { 1: 'resistor-100', 2: 'resistor-100' },
      },
      { id: 'bath', kind: 'fc-1', serial: '2301', bath: 'furnace', programme: programmeOf(substance) },
    ],
    channels: [
      ...CELL_CHANNELS,
      { id: 'beside', thermometer: 'prt-1031', settleMs: 4000, average: 2, keepWarmMa: 1 },
    ],
    bench: {
      bath: 'furnace',
      fluid: inOil ? 'silicone' : 'air',
      lowC: inOil ? -20 : 20,
      highC: inOil ? 150 : t90C + 60,
      safeC: 25,
      uniformityMk: 0,
      stabilityMk: 0.05,
      scanEveryS: 0,
    },
  }
}
