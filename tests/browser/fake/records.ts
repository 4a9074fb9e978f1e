import { Bench, type Channel } from '../../../app/records/bench.ts'
import { Plan } from '../../../app/records/plan.ts'
import { Register } from '../../../app/records/register.ts'

/** The invented Quennick laboratory's bench, plan and register, for as many channels as a test wants. */

export const FAKE_SETPOINTS = [0, 50, 100, 150, 100]

export function makeRegister(channels: number): Register {
  const calibration = (n: number) => ({
    id: `cal-${n}`,
    date: '2026-02-10',
    due: n === 2 ? '2026-12-20' : '2028-02-10',
    certificate: `Q-26-${100 + n}`,
    laboratory: 'Quennick Temperature Laboratory',
    conversion: {
      kind: 'callendar-van-dusen' as const,
      r0: '100.0012',
      a: '3.9083e-3',
      b: '-5.775e-7',
      c: '-4.183e-12',
    },
    uncertainty: {
      k: 2,
      points: [
        { celsius: -40, expandedMk: 8 },
        { celsius: 200, expandedMk: 14 },
      ],
    },
    lowC: -40,
    highC: 250,
  })
  return Register.parse({
    thermometers: Array.from({ length: Math.max(1, channels) }, (_, i) => ({
      id: `t-${i + 1}`,
      name: i === 0 ? 'Standard S1' : `Thermometer ${String(i).padStart(2, '0')}`,
      kind: i === 0 ? 'sprt' : 'prt',
      maker: 'Quennick',
      model: i === 0 ? 'St-25' : 'P-100',
      serial: String(4100 + i),
      owner: 'Quennick Temperature Laboratory',
      nominalOhm: 100,
      lowC: -50,
      highC: 250,
      currentMa: 1,
      selfHeatingMk: 1.8,
      fit: 'callendar-van-dusen',
      calibrations: i < 3 ? [calibration(i + 1)] : [],
      wtpHistory:
        i === 0
          ? ['2024-03-01', '2024-09-12', '2025-03-04', '2025-10-02', '2026-02-10'].map((date, n) => ({
              date,
              ohm: (100.00518 + n * 0.00004).toFixed(5),
              uOhm: 0.00006,
            }))
          : [],
    })),
    resistors: [
      {
        id: 'rs-100',
        name: 'Resistor 100 Ω',
        maker: 'Quennick',
        serial: 'R-77',
        nominalOhm: 100,
        keptAtC: 23,
        uKeptAtK: 0.05,
        maxCurrentMa: 5,
        calibrations: [
          {
            id: 'rs-cal',
            date: '2026-01-15',
            due: '2027-01-15',
            certificate: 'Q-26-011',
            laboratory: 'Quennick Temperature Laboratory',
            ohm: '100.000127',
            celsius: 23,
            alphaPerK: 1.2e-6,
            driftPerYear: 2e-7,
            expandedRelative: 4e-7,
          },
        ],
      },
    ],
    instruments: [
      {
        id: 'i-bridge',
        name: 'Ratio bridge',
        role: 'ratio-bridge',
        maker: 'Quennick',
        model: 'RB-8',
        serial: '0817',
        bridge: { linearityRatio: 2e-8, resolutionRatio: 1e-9, highestRatio: 4 },
        calibrated: '2026-01-20',
        due: '2027-01-20',
        certificate: 'Q-26-014',
      },
    ],
    fluids: [
      {
        id: 'oil-200',
        name: 'Silicone oil, medium',
        lowC: 20,
        highC: 200,
        flashPointC: 270,
        cautions: [
          'Hot oil burns. Keep water away from the bath and work under local rules for hot liquids.',
        ],
      },
    ],
  })
}

export function makeBench(channels: number): Bench {
  const list: Partial<Channel>[] = Array.from({ length: channels }, (_, i) => ({
    id: `ch-${i + 1}`,
    name: i === 0 ? 'Standard S1' : `Thermometer ${String(i).padStart(2, '0')}`,
    role: i === 0 ? 'reference' : i === 1 && channels > 4 ? 'check' : 'under-test',
    instrument: 'bridge',
    input: 1,
    route: [{ scanner: 'scanner', input: i + 1 }],
    thermometer: `t-${i + 1}`,
    reference: { kind: 'resistor', resistor: 'rs-100' },
    currentMa: 1,
    settleMs: 500,
    discard: 1,
  }))
  return Bench.parse({
    id: 'quennick',
    name: 'Quennick bench 1',
    instruments: [
      {
        id: 'bridge',
        name: 'Ratio bridge',
        profile: 'lab-rb-8',
        link: { kind: 'tcp', host: '127.0.0.1', port: 5301 },
        register: 'i-bridge',
      },
      {
        id: 'scanner',
        name: 'Scanner',
        profile: 'lab-cs-16',
        link: { kind: 'tcp', host: '127.0.0.1', port: 5303 },
      },
      {
        id: 'bath',
        name: 'Oil bath',
        profile: 'lab-tb-2',
        link: { kind: 'tcp', host: '127.0.0.1', port: 5305 },
      },
    ],
    channels: list,
    bath: {
      instrument: 'bath',
      name: 'Oil bath',
      fluid: 'oil-200',
      lowC: -20,
      highC: 190,
      safeC: 25,
      uniformityMk: 2,
      stabilityMk: 1.5,
    },
  })
}

export function makePlan(): Plan {
  return Plan.parse({
    id: 'plan-night',
    name: 'Night run, five points',
    setpoints: FAKE_SETPOINTS.map((celsius, i) => ({ celsius, label: i === 4 ? 'down' : 'up' })),
    settling: { windowS: 300, driftMkPerMin: 0.5, spreadMk: 1.5, bandK: 0.2, holdS: 300 },
  })
}
