import { CELL_CHANNELS, type CellSubstance, cellOf, cellSprt, plateauC, standsInOil } from './fixed-point.ts'
import type { Scenario } from './scenario.ts'
import { furnace, oilBath, RESISTOR_100 } from './stock.ts'

/** Cells that stand ready side by side, each in a bath or furnace of its own. */
const READY = ['H2O', 'Ga', 'In', 'Sn', 'Zn'] as const satisfies readonly CellSubstance[]

/** What cell a fixed point has here. */
export const readyCell = (substance: string): string => `cell-${substance}`

/** How far below its fixed point a furnace stands for a freeze of half a day, and above it for gallium's melt, K. */
const FREEZE_BELOW_K = 0.6
const MELT_ABOVE_K = 0.4

const holdsC = (substance: CellSubstance): number =>
  plateauC(substance) + (substance === 'H2O' ? 0 : substance === 'Ga' ? MELT_ABOVE_K : -FREEZE_BELOW_K)

/**
 * A whole set of cells that somebody has prepared: a mantle of ice, gallium that melts, metals that freeze, each for half a day. The
 * thermometer waits in the room and is put from cell to cell by hand.
 */
export const cells: Scenario = {
  name: 'cells',
  title: 'Quennick Temperature Laboratory, a set of cells',
  baths: READY.map((substance) => {
    const id = `furnace-${substance}`
    return {
      ...(standsInOil(substance) ? oilBath(id) : furnace(id, plateauC(substance) + 60)),
      holdsC: holdsC(substance),
    }
  }),
  cells: READY.map((substance) =>
    cellOf(substance, {
      id: readyCell(substance),
      furnace: `furnace-${substance}`,
      // Crystals are there: the metals have just begun to freeze, gallium to melt.
      moltenAtStart: substance === 'H2O' ? 0.3 : substance === 'Ga' ? 0.2 : 0.95,
    }),
  ),
  resistors: [RESISTOR_100],
  thermometers: [cellSprt('room')],
  instruments: [
    {
      id: 'bridge',
      kind: 'rb-8',
      serial: '0817',
      inputs: { 1: { thermometer: 'sprt-0212' } },
      resistors: { 1: 'resistor-100' },
    },
  ],
  channels: [...CELL_CHANNELS],
  bench: { fluid: 'air', lowC: 20, highC: 25, safeC: 23, uniformityMk: 0, stabilityMk: 0.05, scanEveryS: 0 },
}
