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

/** All eight instruments at once: two bridges, two scanners, two baths, a meter and the room's air. */
export const mixed: Scenario = {
  name: 'mixed',
  title: 'Quennick Temperature Laboratory, every instrument',
  baths: [oilBath('oil'), oilBath('small')],
  cells: [],
  resistors: [
    RESISTOR_100,
    {
      ...RESISTOR_100,
      id: 'resistor-100b',
      name: 'Reference resistor 100 ohm, second',
      serial: 'QR100-0072',
    },
    RESISTOR_10K,
  ],
  thermometers: [
    sprt(
      { id: 'sprt-0147', name: 'Reference SPRT', serial: 'QS25-0147', role: 'reference', place: 'oil' },
      true,
    ),
    prt({ id: 'prt-1031', name: 'Industrial PRT A', serial: 'QP100-1031', role: 'under-test', place: 'oil' }),
    prt({ id: 'prt-1033', name: 'Industrial PRT C', serial: 'QP100-1033', role: 'under-test', place: 'oil' }),
    prt({ id: 'prt-1034', name: 'Industrial PRT D', serial: 'QP100-1034', role: 'monitor', place: 'small' }),
    prt({ id: 'prt-1035', name: 'Industrial PRT E', serial: 'QP100-1035', role: 'under-test', place: 'oil' }),
    prt({ id: 'prt-1036', name: 'Industrial PRT F', serial: 'QP100-1036', role: 'under-test', place: 'oil' }),
    thermistor({
      id: 'thermistor-4408',
      name: 'Thermistor',
      serial: 'QT10K-4408',
      role: 'monitor',
      place: 'small',
    }),
    thermocouple({
      id: 'tc-0305',
      name: 'Thermocouple type T',
      serial: 'QTT-0305',
      role: 'monitor',
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
      id: 'old-bridge',
      kind: 'rb-3',
      serial: '0311',
      inputs: { 1: { thermometer: 'prt-1033' }, 2: { thermometer: 'prt-1034' } },
      resistors: { 1: 'resistor-100b', 2: 'resistor-100b' },
    },
    {
      id: 'scanner',
      kind: 'cs-16',
      serial: '1604',
      slots: 1,
      inputs: { 1: { thermometer: 'sprt-0147' }, 2: { thermometer: 'prt-1031' } },
    },
    {
      id: 'old-scanner',
      kind: 'cs-32',
      serial: '3207',
      inputs: { 1: { thermometer: 'prt-1035' }, 8: { thermometer: 'prt-1036' } },
    },
    { id: 'bath', kind: 'tb-2', serial: '2205', bath: 'oil' },
    { id: 'old-bath', kind: 'tb-1', serial: '1107', bath: 'small' },
    {
      id: 'meter',
      kind: 'dm-7',
      serial: '0704',
      inputs: { 1: { switch: 'old-scanner' }, 2: { thermometer: 'tc-0305' } },
    },
    { id: 'air', kind: 'es-1', serial: '0042' },
  ],
  channels: [
    { id: 'ref', thermometer: 'sprt-0147', settleMs: 4000, average: 2, keepWarmMa: 1 },
    { id: 'prt-a', thermometer: 'prt-1031', settleMs: 4000, average: 2, keepWarmMa: 1 },
    { id: 'thermistor', thermometer: 'thermistor-4408', settleMs: 4000, average: 2, keepWarmMa: 0.01 },
    { id: 'prt-c', thermometer: 'prt-1033', settleMs: 4000, average: 2, keepWarmMa: 1 },
    { id: 'prt-d', thermometer: 'prt-1034', settleMs: 4000, average: 2, keepWarmMa: 1 },
    { id: 'prt-e', thermometer: 'prt-1035', settleMs: 4000, average: 4, keepWarmMa: 1 },
    { id: 'prt-f', thermometer: 'prt-1036', settleMs: 4000, average: 4, keepWarmMa: 1 },
  ],
  bench: { bath: 'oil', ...OIL_BENCH },
}
