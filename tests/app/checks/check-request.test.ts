import { describe, expect, it } from 'vitest'
import { answerCheckLine } from '../../../app/checks/answer-check.ts'
import { allNetworks, networkValue } from '../../../app/checks/network.ts'
import { prepare } from '../../../app/thermometry/convert.ts'
import { FixedPointCell } from '../../../simulator/physics/cell.ts'
import { Trace } from '../../../simulator/physics/grid.ts'

const ask = (request: object) =>
  answerCheckLine(JSON.stringify({ id: 7, ...request }), 1) as Record<string, never>
const CONVERSION = {
  kind: 'its90',
  rWtp: 25.5,
  subrange: '3.3.2.2',
  coefficients: { a: -1.6e-4, b: -1e-5 },
} as const
const thermometer = prepare(CONVERSION)

/** A freeze of indium in the lab's own cell: molten, cooled below, recalescence, plateau. */
function freeze() {
  const furnace = new Trace(158)
  const cell = new FixedPointCell(
    {
      id: 'cell',
      furnace: 'furnace',
      substance: 'In',
      fixedPointC: 156.5985,
      latentJ: 28_600,
      capacityJPerK: 260,
      couplingWPerK: 3,
      supercoolK: 0.15,
      impurityK: 1.5e-4,
      moltenAtStart: 1,
    },
    furnace,
  )
  const times: number[] = []
  const ohm: number[] = []
  for (let i = 1; i < 16_000; i++) {
    furnace.push(i, Math.max(155.4, 158 - i / 600))
    cell.step(i)
    if (i % 30 !== 0) continue
    times.push(i)
    ohm.push(thermometer.toSignal(cell.temperature.latest).value)
  }
  return { times, ohm }
}

describe('answerCheckLine', () => {
  it('finds the freeze of a simulated indium cell to a few tenths of a millikelvin', () => {
    const { value, dValueDInput } = thermometer.toSignal(156.5985)
    const answer = ask({
      check: 'plateau',
      fixedPoint: 'In',
      depthM: 0,
      uCellMk: 0.3,
      ohmPerKelvin: dValueDInput,
      bandMk: 1,
      ...freeze(),
    }) as unknown as { plateau: { kind: string; supercoolMk: number; ohm: number }; value: { uMk: number } }
    expect(answer.plateau.kind).toBe('freeze')
    // Recalescence is quicker than the readings: the deepest moment falls between two of them.
    expect(answer.plateau.supercoolMk).toBeGreaterThan(80)
    expect(answer.plateau.supercoolMk).toBeLessThan(155)
    expect(Math.abs(((answer.plateau.ohm - value) / dValueDInput) * 1e3)).toBeLessThan(0.3)
    expect(answer.value.uMk).toBeGreaterThan(0.3)
  })

  it('makes coefficients of plateaus', () => {
    const at = (fixedPoint: string, t: number, uCellMk: number) => ({
      fixedPoint,
      ohm: thermometer.toSignal(t).value,
      depthM: 0,
      uCellMk,
      uTypeAMk: 0.02,
      ohmPerKelvin: thermometer.toSignal(t).dValueDInput,
    })
    const plateaus = [at('H2O', 0.01, 0.05), at('Sn', 231.928, 0.3), at('Zn', 419.527, 0.5)]
    const answer = ask({ check: 'fixed-points', plateaus, tableC: [100] }) as unknown as {
      coefficients: { name: string; value: number }[]
      table: { uK: number }[]
    }
    expect(answer.coefficients.find((c) => c.name === 'a')!.value).toBeCloseTo(-1.6e-4, 7)
    expect(answer.table[0]!.uK).toBeGreaterThan(5e-5)
  })

  it('checks a bridge by interchange and by networks', () => {
    const pair = { name: 'a', ratio: 0.25, u: 1e-8, reciprocal: 4, uReciprocal: 1e-7 }
    expect(
      (ask({ check: 'interchange', pairs: [pair] }) as unknown as { pairs: { agrees: boolean }[] }).pairs[0]!
        .agrees,
    ).toBe(true)
    const values = { a: 0.25, b: 0.5, c: 0.9 }
    const readings = allNetworks(['a', 'b', 'c']).map((network) => ({
      network:
        network.kind === 'one'
          ? network.resistor
          : { [network.kind]: network.parts.map((p) => (p.kind === 'one' ? p.resistor : '')) },
      ratio: networkValue(network, values).value,
      u: 1e-8,
    }))
    const answer = ask({ check: 'networks', readings }) as unknown as { linearityRatio: number }
    // Nothing is wrong with these ratios; what is left is what their u of 1e-8 leaves open.
    expect(answer.linearityRatio).toBeLessThan(1e-8)
  })

  it('says in words what is missing', () => {
    expect(ask({ check: 'interchange', pairs: [] }).error).toMatch(/pairs/)
    expect(ask({ check: 'plateau', fixedPoint: 'Pb' }).error).toMatch(/not a fixed point; use one of/)
    expect(ask({ check: 'what' }).error).toMatch(/not complete or not right/)
    const two = {
      check: 'plateau',
      fixedPoint: 'In',
      depthM: 0.1,
      uCellMk: 0.3,
      ohmPerKelvin: 0.1,
      times: [1, 2],
      ohm: [1],
    }
    expect(ask(two).error).toMatch(/2 times for 1 resistances/)
    expect(answerCheckLine('{', 3)).toMatchObject({ id: null })
  })
})
