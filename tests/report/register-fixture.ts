import { withComparison, withFixedPoints } from '../../app/checks/check-record.ts'
import { CheckRequest } from '../../app/contract/check-request.ts'
import { Cell } from '../../app/records/cell.ts'
import { Resistor, Thermometer } from '../../app/records/register.ts'
import type { RegisterWork } from '../../app/report/certificate/register-certificate.ts'
import { prepare } from '../../app/thermometry/convert.ts'

/** Work of a register: a thermometer calibrated at fixed points, and a resistor compared with a better one. */

export const TRUTH = prepare({
  kind: 'its90',
  rWtp: 25.5,
  subrange: '3.3.2.2',
  coefficients: { a: -1.6e-4, b: -1e-5 },
})

const plateau = (fixedPoint: string, t: number, hour: number, more: object = {}) => ({
  fixedPoint,
  ohm: TRUTH.toSignal(t).value,
  depthM: 0,
  uCellMk: fixedPoint === 'H2O' ? 0.05 : 0.4,
  uBridgeMk: 0.05,
  uResistorMk: 0.1,
  uTypeAMk: 0.02,
  selfHeatingMk: 0,
  uSelfHeatingMk: 0.05,
  ohmPerKelvin: TRUTH.toSignal(t).dValueDInput,
  utc: `2026-03-0${1 + Math.floor(hour / 24)}T${String(hour % 24).padStart(2, '0')}:00:00.000Z`,
  ...more,
})

export const sprt = Thermometer.parse({
  id: 'sprt-9',
  name: 'SPRT 9',
  kind: 'sprt',
  serial: 'QT-9',
  owner: 'Vellmar Weather Station (invented)',
  lowC: 0,
  highC: 420,
})
export const tin = Cell.parse({
  id: 'tin-3',
  name: 'Tin cell',
  serial: 'QS-3',
  fixedPoint: 'Sn',
  depthM: 0.16,
  uMk: 0.4,
  calibrated: '2025-05-01',
  certificate: 'N-11',
  laboratory: 'National House (invented)',
  accreditation: 'CMC',
})
const request = CheckRequest.parse({
  check: 'fixed-points',
  thermometer: 'sprt-9',
  certificate: 'QTL-F-7',
  laboratory: 'Quennick Temperature Laboratory',
  date: '2026-03-02',
  due: '2028-03-02',
  plateaus: [
    plateau('H2O', 0.01, 1),
    plateau('Zn', 419.527, 9),
    plateau('H2O', 0.01, 17),
    plateau('Sn', 231.928, 25, { cell: 'tin-3' }),
    plateau('H2O', 0.01, 33),
  ],
})
if (request.check !== 'fixed-points') throw new TypeError('a request of fixed points')
export const { entry } = withFixedPoints(sprt, request, '2026-03-02')

const resistor = (id: string, ohm: string) =>
  Resistor.parse({
    id,
    name: `Resistor ${id}`,
    serial: id.toUpperCase(),
    nominalOhm: 100,
    keptAtC: 23,
    uKeptAtK: 0.01,
    calibrations: [
      {
        id: `${id}-1`,
        date: '2025-01-01',
        certificate: 'N-5',
        laboratory: 'National House (invented)',
        accreditation: 'CMC',
        ohm,
        celsius: 23,
        expandedRelative: 2e-7,
        k: 2,
      },
    ],
  })
export const better = resistor('best', '100.0001')
export const compared = withComparison({
  ...(CheckRequest.parse({
    check: 'resistor',
    date: '2026-03-01',
    ratio: 1.000001,
    uRatio: 2e-8,
    better,
    resistor: resistor('own', '100.0002'),
    certificate: 'QTL-R-3',
    asCalibration: true,
  }) as Extract<CheckRequest, { check: 'resistor' }>),
}).entry

export const work: RegisterWork = {
  laboratory: {
    name: 'Quennick Temperature Laboratory',
    address: ['3 Weir Street', 'Quennick'],
    country: 'IE',
  } as RegisterWork['laboratory'],
  decimalSign: '.',
  program: { name: 'Stillpoint', version: '0' },
  who: 'C. Keeper',
  thermometers: [entry],
  resistors: [better, compared],
  cells: [tin],
  instruments: [],
  customer: null,
}
