/** Parts that several scenarios are put together from. All makes and serial numbers are invented. */
import type { BathDesign } from '../physics/bath.ts'
import type { ResistorDesign, ThermometerDesign } from './scenario.ts'

/** A stirred bath of about 20 litres of silicone oil. */
export function oilBath(id: string): BathDesign {
  return {
    id,
    lowC: -20,
    highC: 150,
    capacityJPerK: 30_000,
    heaterW: 3000,
    coolerW: 1800,
    coolerFallWPerK: 25,
    lossWPerK: 4,
    stirrerW: 20,
    heaterLagS: 20,
    sensorLagS: 6,
    gains: { proportionalWPerK: 750, integralS: 160, derivativeS: 22, approachK: 2.5 },
    sensorErrorK: 0.02,
    driftK: 0.0012,
    driftMemoryS: 2400,
    flutterK: 0.0004,
    flutterMemoryS: 20,
    cutOutC: 165,
  }
}

/** A dry furnace for fixed-point cells, slow and hot. */
export function furnace(id: string, highC: number): BathDesign {
  return {
    ...oilBath(id),
    lowC: 20,
    highC,
    capacityJPerK: 12_000,
    heaterW: 1500,
    coolerW: 60,
    coolerFallWPerK: 60,
    lossWPerK: 1.2,
    stirrerW: 0,
    gains: { proportionalWPerK: 300, integralS: 200, derivativeS: 22, approachK: 4 },
    sensorErrorK: 0.1,
    driftK: 0.01,
    flutterK: 0.002,
    cutOutC: highC + 30,
  }
}

export const RESISTOR_100: ResistorDesign = {
  id: 'resistor-100',
  name: 'Reference resistor 100 ohm',
  serial: 'QR100-0071',
  nominalOhm: 100,
}
export const RESISTOR_10K: ResistorDesign = {
  id: 'resistor-10k',
  name: 'Reference resistor 10 kilohm',
  serial: 'QR10K-0033',
  nominalOhm: 10_000,
}

type Placed = Pick<ThermometerDesign, 'id' | 'name' | 'serial' | 'role' | 'place'>

export function sprt(placed: Placed, certified: boolean): ThermometerDesign {
  return {
    ...placed,
    kind: 'sprt',
    nominalOhm: 25.5,
    lowC: 0,
    highC: 230,
    currentMa: 1,
    selfHeatingMk: 0.6,
    lagS: 7,
    fit: 'its90',
    certified,
  }
}

export function prt(placed: Placed): ThermometerDesign {
  return {
    ...placed,
    kind: 'prt',
    nominalOhm: 100,
    lowC: 0,
    highC: 200,
    currentMa: 1,
    selfHeatingMk: 1.5,
    lagS: 9,
    fit: 'callendar-van-dusen',
  }
}

export function thermistor(placed: Placed): ThermometerDesign {
  return {
    ...placed,
    kind: 'thermistor',
    nominalOhm: 10_000,
    lowC: 0,
    highC: 100,
    currentMa: 0.01,
    selfHeatingMk: 0.8,
    lagS: 4,
    fit: 'steinhart-hart',
  }
}

export function thermocouple(placed: Placed): ThermometerDesign {
  return {
    ...placed,
    kind: 'thermocouple',
    lowC: 0,
    highC: 350,
    currentMa: 1,
    selfHeatingMk: 0,
    lagS: 3,
    fit: 'thermocouple',
    thermocoupleType: 'T',
  }
}

/** What the ready-made bench states of the oil bath. */
export const OIL_BENCH = {
  fluid: 'silicone',
  lowC: 5,
  highC: 140,
  safeC: 25,
  uniformityMk: 1.5,
  stabilityMk: 0.5,
  scanEveryS: 0,
} as const
