import { Bench } from '../../../app/records/bench.ts'
import type { NewReading, Reading } from '../../../app/records/reading.ts'
import { Register } from '../../../app/records/register.ts'

/** A small bench of our own invention: a calibrated SPRT, an uncalibrated PRT, a meter that tells degC. */
export const BENCH = Bench.parse({
  id: 'b',
  name: 'Bench',
  instruments: [
    {
      id: 'bridge',
      name: 'Bridge',
      profile: 'p',
      link: { kind: 'tcp', host: '127.0.0.1', port: 1 },
      register: 'bridge',
    },
  ],
  channels: [
    {
      id: 'ref',
      name: 'Reference',
      role: 'reference',
      instrument: 'bridge',
      thermometer: 'sprt',
      reference: { kind: 'resistor', resistor: 'r100' },
      settleMs: 4000,
    },
    {
      id: 'x',
      name: 'PRT',
      input: 2,
      role: 'under-test',
      instrument: 'bridge',
      thermometer: 'prt',
      reference: { kind: 'resistor', resistor: 'r100' },
      settleMs: 4000,
    },
    {
      id: 'y',
      name: 'PRT against the reference',
      role: 'under-test',
      instrument: 'bridge',
      thermometer: 'prt',
      reference: { kind: 'channel', channel: 'ref' },
    },
  ],
  bath: { name: 'bath', lowC: -20, highC: 150, safeC: 25 },
})

export const REGISTER = Register.parse({
  thermometers: [
    {
      id: 'sprt',
      name: 'SPRT',
      kind: 'sprt',
      nominalOhm: 25.5,
      lowC: 0,
      highC: 420,
      currentMa: 1,
      selfHeatingMk: 2,
      calibrations: [
        {
          id: 'c1',
          date: '2025-01-10',
          due: '2026-01-10',
          certificate: 'C1',
          laboratory: 'L',
          conversion: {
            kind: 'its90',
            rWtp: '25.5000000',
            subrange: '3.3.2.3',
            coefficients: { a: -1.2e-4, b: -8e-6 },
          },
          uncertainty: {
            k: 2,
            points: [
              { celsius: 0, expandedMk: 1 },
              { celsius: 200, expandedMk: 3 },
            ],
          },
          lowC: 0,
          highC: 232,
        },
      ],
      wtpHistory: [
        { date: '2025-01-10', ohm: '25.5000000', uOhm: 1e-5 },
        { date: '2025-06-01', ohm: '25.5000500', uOhm: 1e-5 },
      ],
    },
    { id: 'prt', name: 'PRT', kind: 'prt', nominalOhm: 100, lowC: -50, highC: 200 },
  ],
  resistors: [
    {
      id: 'r100',
      name: 'R 100',
      nominalOhm: 100,
      keptAtC: 20,
      uKeptAtK: 0.05,
      calibrations: [
        {
          id: 'r1',
          date: '2025-02-01',
          certificate: 'R1',
          laboratory: 'L',
          ohm: '100.00120',
          celsius: 20,
          expandedRelative: 4e-7,
        },
      ],
    },
  ],
  instruments: [
    {
      id: 'bridge',
      name: 'Bridge',
      role: 'ratio-bridge',
      bridge: { linearityRatio: 5e-8, resolutionRatio: 1e-9, highestRatio: 4 },
    },
  ],
})

export function reading(
  seq: number,
  channel: string,
  timeS: number,
  value: string | null,
  more: Partial<NewReading> = {},
): Reading {
  return {
    seq,
    channel,
    utcUs: 1_750_000_000_000_000 + timeS * 1e6,
    monoUs: timeS * 1e6,
    raw: value ?? '',
    value,
    unit: 'ratio',
    marks: [],
    currentMa: 1,
    ...more,
  }
}
