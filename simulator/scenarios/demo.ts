import type { Scenario } from './scenario.ts'
import { OIL_BENCH, oilBath, prt, RESISTOR_10K, RESISTOR_100, sprt, thermistor } from './stock.ts'

/** An overnight comparison: one reference, four thermometers under test, a bridge, a scanner, an oil bath, the room's air. */
export const demo: Scenario = {
  name: 'demo',
  title: 'Quennick Temperature Laboratory, comparison in oil',
  baths: [oilBath('oil')],
  cells: [],
  resistors: [RESISTOR_100, RESISTOR_10K],
  thermometers: [
    sprt(
      { id: 'sprt-0147', name: 'Reference SPRT', serial: 'QS25-0147', role: 'reference', place: 'oil' },
      true,
    ),
    prt({ id: 'prt-1031', name: 'Industrial PRT A', serial: 'QP100-1031', role: 'under-test', place: 'oil' }),
    prt({ id: 'prt-1032', name: 'Industrial PRT B', serial: 'QP100-1032', role: 'under-test', place: 'oil' }),
    sprt(
      { id: 'sprt-0212', name: 'SPRT under test', serial: 'QS25-0212', role: 'under-test', place: 'oil' },
      false,
    ),
    thermistor({
      id: 'thermistor-4408',
      name: 'Thermistor',
      serial: 'QT10K-4408',
      role: 'under-test',
      place: 'oil',
    }),
  ],
  instruments: [
    {
      id: 'bridge',
      kind: 'rb-8',
      serial: '0817',
      inputs: { 1: { switch: 'scanner' }, 2: { thermometer: 'thermistor-4408' } },
      resistors: { 1: 'resistor-100', 2: 'resistor-10k' },
    },
    {
      id: 'scanner',
      kind: 'cs-16',
      serial: '1604',
      slots: 1,
      inputs: {
        1: { thermometer: 'sprt-0147' },
        2: { thermometer: 'prt-1031' },
        3: { thermometer: 'prt-1032' },
        4: { thermometer: 'sprt-0212' },
      },
    },
    { id: 'bath', kind: 'tb-2', serial: '2205', bath: 'oil' },
    { id: 'air', kind: 'es-1', serial: '0042' },
  ],
  channels: [
    { id: 'ref', thermometer: 'sprt-0147', settleMs: 4000, average: 4, keepWarmMa: 1 },
    { id: 'prt-a', thermometer: 'prt-1031', settleMs: 4000, average: 4, keepWarmMa: 1 },
    { id: 'prt-b', thermometer: 'prt-1032', settleMs: 4000, average: 4, keepWarmMa: 1 },
    { id: 'sprt', thermometer: 'sprt-0212', settleMs: 4000, average: 4, keepWarmMa: 1 },
    { id: 'thermistor', thermometer: 'thermistor-4408', settleMs: 4000, average: 4, keepWarmMa: 0.01 },
  ],
  bench: { bath: 'oil', ...OIL_BENCH },
}
