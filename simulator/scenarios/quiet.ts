import type { Scenario } from './scenario.ts'
import { OIL_BENCH, oilBath, prt, RESISTOR_100, sprt } from './stock.ts'

/** The smallest bench that can compare: two thermometers on the bridge's own inputs, one bath. */
export const quiet: Scenario = {
  name: 'quiet',
  title: 'Quennick Temperature Laboratory, two thermometers',
  baths: [oilBath('oil')],
  cells: [],
  resistors: [RESISTOR_100],
  thermometers: [
    sprt(
      { id: 'sprt-0147', name: 'Reference SPRT', serial: 'QS25-0147', role: 'reference', place: 'oil' },
      true,
    ),
    prt({ id: 'prt-1031', name: 'Industrial PRT A', serial: 'QP100-1031', role: 'under-test', place: 'oil' }),
  ],
  instruments: [
    {
      id: 'bridge',
      kind: 'rb-8',
      serial: '0817',
      inputs: { 1: { thermometer: 'sprt-0147' }, 2: { thermometer: 'prt-1031' } },
      resistors: { 1: 'resistor-100', 2: 'resistor-100' },
    },
    { id: 'bath', kind: 'tb-2', serial: '2205', bath: 'oil' },
  ],
  channels: [
    { id: 'ref', thermometer: 'sprt-0147', settleMs: 4000, average: 2, keepWarmMa: 1 },
    { id: 'prt-a', thermometer: 'prt-1031', settleMs: 4000, average: 2, keepWarmMa: 1 },
  ],
  bench: { bath: 'oil', ...OIL_BENCH },
}
