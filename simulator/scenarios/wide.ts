import type { Terminal } from '../physics/circuit.ts'
import type { ChannelDesign, InstrumentDesign, Scenario, ThermometerDesign } from './scenario.ts'
import { OIL_BENCH, oilBath, prt, RESISTOR_100, sprt } from './stock.ts'

const THERMOMETERS = 96
/** Each bridge: inputs 1 to 3 direct, input 4 to a scanner whose inputs 1 to 3 lead to scanners of 16. */
const PER_BRIDGE = 3 + 3 * 16

function thermometers(): ThermometerDesign[] {
  return Array.from({ length: THERMOMETERS }, (_, i) => {
    const number = String(i + 1).padStart(3, '0')
    if (i === 0) {
      return sprt(
        { id: 'sprt-0147', name: 'Reference SPRT', serial: 'QS25-0147', role: 'reference', place: 'oil' },
        true,
      )
    }
    if (i === PER_BRIDGE) {
      return sprt(
        { id: 'sprt-0148', name: 'Check SPRT', serial: 'QS25-0148', role: 'check', place: 'oil' },
        true,
      )
    }
    return prt({
      id: `prt-${number}`,
      name: `PRT ${number}`,
      serial: `QP100-2${number}`,
      role: 'under-test',
      place: 'oil',
    })
  })
}

function half(letter: 'a' | 'b', serial: number, mine: readonly ThermometerDesign[]): InstrumentDesign[] {
  const clamp = (list: readonly ThermometerDesign[]): Record<number, Terminal> =>
    Object.fromEntries(list.map(({ id }, i) => [i + 1, { thermometer: id }]))
  const groups = [mine.slice(3, 19), mine.slice(19, 35), mine.slice(35, 51)]
  const first = `scanner-${letter}0`
  return [
    {
      id: `bridge-${letter}`,
      kind: 'rb-8',
      serial: `08${serial}`,
      inputs: { ...clamp(mine.slice(0, 3)), 4: { switch: first } },
      resistors: { 1: 'resistor-100', 2: 'resistor-100', 3: 'resistor-100', 4: 'resistor-100' },
    },
    {
      id: first,
      kind: 'cs-16',
      serial: `16${serial}0`,
      inputs: Object.fromEntries(groups.map((_, i) => [i + 1, { switch: `scanner-${letter}${i + 1}` }])),
    },
    ...groups.map(
      (group, i): InstrumentDesign => ({
        id: `scanner-${letter}${i + 1}`,
        kind: 'cs-16',
        serial: `16${serial}${i + 1}`,
        inputs: clamp(group),
      }),
    ),
  ]
}

const all = thermometers()

/** 96 thermometers on two bridges, through their own inputs and scanners in cascade. */
export const wide: Scenario = {
  name: 'wide',
  title: 'Quennick Temperature Laboratory, 96 channels',
  baths: [oilBath('oil')],
  cells: [],
  resistors: [RESISTOR_100],
  thermometers: all,
  instruments: [
    ...half('a', 21, all.slice(0, PER_BRIDGE)),
    ...half('b', 22, all.slice(PER_BRIDGE)),
    { id: 'bath', kind: 'tb-2', serial: '2205', bath: 'oil' },
    { id: 'air', kind: 'es-1', serial: '0042' },
  ],
  channels: all.map(
    ({ id }, i): ChannelDesign => ({
      id: `ch-${String(i + 1).padStart(2, '0')}`,
      thermometer: id,
      settleMs: 2500,
      average: 1,
      keepWarmMa: 1,
    }),
  ),
  bench: { bath: 'oil', ...OIL_BENCH },
}
