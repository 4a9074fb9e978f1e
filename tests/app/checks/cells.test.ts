import { describe, expect, it } from 'vitest'
import { compareCells } from '../../../app/checks/cell-comparison.ts'
import { withPlateaus } from '../../../app/checks/cell-history.ts'
import { withCell } from '../../../app/checks/cell-said.ts'
import { reducePlateau } from '../../../app/checks/fixed-point.ts'
import { CheckRequest, type FixedPointsRequest } from '../../../app/contract/check-request.ts'
import { CELL_POINTS, Cell } from '../../../app/records/cell.ts'
import { FIXED_POINTS } from '../../../app/thermometry/fixed-points.ts'

const tin = Cell.parse({
  id: 'tin-3',
  name: 'Tin cell 3',
  fixedPoint: 'Sn',
  serial: 'QS-3',
  depthM: 0.16,
  offsetMk: -0.2,
  uMk: 0.35,
})

describe('Cell', () => {
  it('knows the fixed points of ITS-90 that the station knows, and no others', () => {
    expect(CELL_POINTS.filter((name) => !FIXED_POINTS.some((p) => p.name === name))).toEqual([])
    expect(Cell.safeParse({ ...tin, fixedPoint: 'Pb' }).success).toBe(false)
  })
})

describe('withCell', () => {
  it('takes from the entry what is not said', () => {
    expect(withCell({ fixedPoint: 'Sn', cell: 'tin-3' }, [tin])).toEqual({
      fixedPoint: 'Sn',
      cell: 'tin-3',
      depthM: 0.16,
      uDepthM: 0.005,
      uCellMk: 0.35,
      offsetMk: -0.2,
    })
    expect(withCell({ fixedPoint: 'Sn', cell: 'tin-3', depthM: 0.1 }, [tin]).depthM).toBe(0.1)
    expect(withCell({ fixedPoint: 'Sn' }, [])).toEqual({ fixedPoint: 'Sn' })
  })

  it('refuses a cell that is not in the register, and one of another fixed point', () => {
    expect(() => withCell({ fixedPoint: 'Sn', cell: 'tin-9' }, [tin])).toThrow(
      /no cell "tin-9" in the register; it has tin-3/,
    )
    expect(() => withCell({ fixedPoint: 'Zn', cell: 'tin-3' }, [tin])).toThrow(/a cell of Sn, not of Zn/)
  })
})

const plateau = (fixedPoint: 'Sn' | 'Zn' | 'H2O', ohm: number, more: object = {}) => ({
  fixedPoint,
  ohm,
  depthM: 0.16,
  uCellMk: 0.35,
  uBridgeMk: 0.1,
  uResistorMk: 0.2,
  uTypeAMk: 0.03,
  ohmPerKelvin: 0.0946,
  ...more,
})

describe('compareCells', () => {
  const value = (ohm: number, depthM = 0.16) =>
    reducePlateau(
      { ohm, uTypeAMk: 0.03, degreesOfFreedom: 50, rangeMk: 0 },
      { fixedPoint: 'Sn', depthM, uDepthM: 0, uCellMk: 0.35, uBridgeMk: 0.1, uResistorMk: 0.2 },
      { mk: 0, uMk: 0 },
      0.0946,
    )

  it('finds how far one cell is from another, with neither bridge nor resistor in it', () => {
    const found = compareCells(value(48.0946), value(48.0), 0.0946)
    expect(found.differenceMk).toBeCloseTo(1000, 6)
    expect(found.uMk).toBeCloseTo(0.03 * Math.SQRT2, 12)
    expect(found.agrees).toBe(false)
    expect(compareCells(value(48), value(48), 0.0946)).toMatchObject({ differenceMk: 0, agrees: true })
    // Twice the root of 2 (0.03² + 0.35²) mK is 0.9936 mK.
    const agrees = (mk: number) => compareCells(value(48 + 94.6e-6 * mk), value(48), 0.0946).agrees
    expect([agrees(0.99), agrees(-0.99), agrees(1), agrees(-1)]).toEqual([true, true, false, false])
  })

  it('takes the heads off first', () => {
    // ITS-90 table 2: tin rises by 2.2 mK for each metre.
    const ohm = 48 + 0.0946 * 0.1 * 2.2e-3
    expect(compareCells(value(ohm, 0.26), value(48, 0.16), 0.0946).differenceMk).toBeCloseTo(0, 6)
  })

  it('refuses cells of different fixed points', () => {
    const zinc = { ...value(48), fixedPoint: 'Zn' as const }
    expect(() => compareCells(value(48), zinc, 0.0946)).toThrow(/cannot be compared with one of Zn/)
  })
})

describe('withPlateaus', () => {
  it('adds to a cell what was taken in it, and leaves the others alone', () => {
    const request = CheckRequest.parse({
      check: 'fixed-points',
      thermometer: 'sprt',
      plateaus: [
        plateau('H2O', 25.5, { uCellMk: 0.05 }),
        plateau('Sn', 48.2, { cell: 'tin-3', utc: '2026-02-03T10:00:00.000Z' }),
      ],
    }) as FixedPointsRequest
    const [changed, ...none] = withPlateaus([tin, { ...tin, id: 'tin-4' }], request, '2026-03-01')
    expect(none).toEqual([])
    expect(changed!.plateaus).toMatchObject([
      { date: '2026-02-03', thermometer: 'sprt', ohm: 48.2, w: expect.closeTo(48.2 / 25.5, 8) },
    ])
  })
})
