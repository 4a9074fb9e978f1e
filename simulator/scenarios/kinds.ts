import type { Scenario } from './scenario.ts'
import {
  OIL_BENCH,
  oilBath,
  prt,
  RESISTOR_10K,
  RESISTOR_100,
  sprt,
  thermistor,
  thermocouple,
} from './stock.ts'

/** One thermometer of each kind under test in one oil bath, a bridge, a meter, and a second reference that may be switched on. */
export const kinds: Scenario = {
  name: 'kinds',
  title: 'Quennick Temperature Laboratory, one of each kind',
  baths: [oilBath('oil')],
  cells: [],
  resistors: [RESISTOR_100, RESISTOR_10K],
  thermometers: [
    sprt(
      { id: 'sprt-0147', name: 'Reference SPRT', serial: 'QS25-0147', role: 'reference', place: 'oil' },
      true,
    ),
    {
      ...sprt(
        {
          id: 'sprt-0148b',
          name: 'Second reference SPRT',
          serial: 'QS25-0148',
          role: 'reference',
          place: 'oil',
        },
        true,
      ),
      apart: true,
    },
    sprt(
      { id: 'sprt-0212', name: 'SPRT under test', serial: 'QS25-0212', role: 'under-test', place: 'oil' },
      false,
    ),
    prt({ id: 'prt-1031', name: 'Industrial PRT A', serial: 'QP100-1031', role: 'under-test', place: 'oil' }),
    thermistor({
      id: 'thermistor-4408',
      name: 'Thermistor',
      serial: 'QT10K-4408',
      role: 'under-test',
      place: 'oil',
    }),
    thermocouple({
      id: 'tc-0305',
      name: 'Thermocouple type T',
      serial: 'QTT-0305',
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
        2: { thermometer: 'sprt-0148b' },
        3: { thermometer: 'sprt-0212' },
        4: { thermometer: 'prt-1031' },
      },
    },
    { id: 'bath', kind: 'tb-2', serial: '2205', bath: 'oil' },
    { id: 'meter', kind: 'dm-7', serial: '0704', inputs: { 1: { thermometer: 'tc-0305' } } },
    { id: 'air', kind: 'es-1', serial: '0042' },
  ],
  channels: [
    { id: 'ref', thermometer: 'sprt-0147', settleMs: 4000, average: 4, keepWarmMa: 1 },
    { id: 'ref-b', thermometer: 'sprt-0148b', settleMs: 4000, average: 4, keepWarmMa: 1 },
    { id: 'sprt', thermometer: 'sprt-0212', settleMs: 4000, average: 4, keepWarmMa: 1 },
    { id: 'prt', thermometer: 'prt-1031', settleMs: 4000, average: 4, keepWarmMa: 1 },
    { id: 'thermistor', thermometer: 'thermistor-4408', settleMs: 4000, average: 4, keepWarmMa: 0.01 },
    { id: 'couple', thermometer: 'tc-0305', settleMs: 0, average: 8, readings: 2 },
  ],
  bench: { bath: 'oil', ...OIL_BENCH },
}
