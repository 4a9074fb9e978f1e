import { describe, expect, it } from 'vitest'
import {
  checkThermometerChart,
  type SessionChecks,
  sessionChecks,
} from '../../../app/checks/check-history.ts'
import { chartVerdict } from '../../../app/checks/history.ts'
import { analyse } from '../../../app/results/analysis.ts'
import { CHOICES, simulate } from '../../report/fixture.ts'

/** A night in which x2 is a check thermometer with a calibration that is off by so much. */
function night(offsetOhm: number, seed = 1, errors = 0) {
  const { input, truth } = simulate({ ...CHOICES, seed, errors })
  const { register, bench } = input.setup
  const conversion = truth.conversions.x2!
  if (conversion.kind !== 'callendar-van-dusen') throw new Error('x2 is another kind')
  const thermometers = register.thermometers.map((t) =>
    t.id === 'prt-x2'
      ? {
          ...t,
          calibrations: [
            {
              id: 'own',
              date: '2025-10-01',
              certificate: 'Q-2',
              laboratory: 'Quennick Temperature Laboratory',
              lowC: -10,
              highC: 150,
              conversion: { ...conversion, r0: Number(conversion.r0) + offsetOhm },
              atZeroCurrent: true,
              uncertainty: { k: 2, points: [{ celsius: 0, expandedMk: 4 }] },
            },
          ],
        }
      : t,
  )
  const channels = bench.channels.map((c) => (c.id === 'x2' ? { ...c, role: 'check' as const } : c))
  const setup = { ...input.setup, register: { ...register, thermometers }, bench: { ...bench, channels } }
  return { ...input, setup }
}

describe('sessionChecks', () => {
  it("gives the report's own figures, without the fits", () => {
    const input = night(0.002, 4, 1)
    const { points } = sessionChecks(input)
    const [check] = analyse({ ...input, options: { monteCarloTrials: 0 } }).checks
    expect(points.map((p) => p.differenceMk)).toEqual(check!.points.map((p) => p.differenceMk))
    expect(points.map((p) => 2 * p.uMk)).toEqual(check!.points.map((p) => p.expandedMk))
    expect(new Set(points.map((p) => p.thermometer))).toEqual(new Set(['prt-x2']))
  })

  it('finds a calibration that is off by as much as it is, and none where it is right', () => {
    // 0.39 ohm/K near 0 degC: 2 milliohm too many in R0 make the thermometer show 5.1 mK too little.
    const at0 = (offset: number) =>
      sessionChecks(night(offset)).points.find((p) => Math.abs(p.celsius) < 1)!.differenceMk
    expect(at0(0)).toBeCloseTo(0, 1)
    expect(at0(0.002)).toBeCloseTo(-2 / 0.391, 1)
  })

  it('has the whole budget in its uncertainty: bridge, resistor and R(0.01 °C) of the reference as well', () => {
    const input = night(0)
    const { register } = input.setup
    const uOf = (more: Partial<typeof register>) =>
      sessionChecks({ ...input, setup: { ...input.setup, register: { ...register, ...more } } }).points.at(
        -1,
      )!.uMk
    const plain = uOf({})
    const coarse = register.instruments.map((i) =>
      i.bridge ? { ...i, bridge: { ...i.bridge, linearityRatio: 1e-5 } } : i,
    )
    expect(uOf({ instruments: coarse })).toBeGreaterThan(2 * plain)
    const unsure = register.resistors.map((r) => ({
      ...r,
      calibrations: r.calibrations.map((c) => ({ ...c, expandedRelative: 1e-3 })),
    }))
    expect(uOf({ resistors: unsure })).toBeGreaterThan(2 * plain)
    const wtp = register.thermometers.map((t) => ({
      ...t,
      wtpHistory: t.wtpHistory.map((w) => ({ ...w, uOhm: 1e-3 * Number(w.ohm) })),
    }))
    const noCell = { ...input, points: input.points.filter((p) => !p.kind.startsWith('wtp')) }
    const at = (thermometers: typeof wtp) =>
      sessionChecks({
        ...noCell,
        setup: { ...input.setup, register: { ...register, thermometers } },
      }).points.at(-1)!.uMk
    expect(at(wtp)).toBeGreaterThan(2 * at(register.thermometers))
  })

  it('is empty where no check thermometer was in the bath', () => {
    expect(sessionChecks(simulate({ ...CHOICES, errors: 0 }).input).points).toEqual([])
  })
})

describe('checkThermometerChart', () => {
  const at = (date: string, shiftMk: number): SessionChecks => ({
    session: `s-${date}`,
    date,
    points: [0, 50, 100].map((celsius) => ({
      thermometer: 'c',
      celsius,
      differenceMk: shiftMk + celsius / 100,
      uMk: 1,
    })),
  })
  const thermometer = { id: 'c', name: 'Check' }
  const calm = [0, 0.5, -0.5, 0.2, 0].map((mk, i) => at(`2026-0${i + 1}-01`, mk))

  it('has one entry for each session, its mean deviation, and leads back to the session', () => {
    const { entries, unit } = checkThermometerChart(thermometer, calm)
    expect(unit).toBe('mK')
    expect(entries[0]).toMatchObject({ date: '2026-01-01', session: 's-2026-01-01', value: 0.5, u: 1 })
  })

  it('looks near one temperature where one is named', () => {
    const { entries } = checkThermometerChart(thermometer, calm, 98)
    expect(entries[0]!.value).toBe(1)
    expect(checkThermometerChart(thermometer, calm, 20).entries).toEqual([])
    expect(checkThermometerChart({ id: 'other', name: 'Other' }, calm).entries).toEqual([])
  })

  it('calls a thermometer out of control that has jumped, and in control before', () => {
    expect(chartVerdict(checkThermometerChart(thermometer, calm))).toMatch(/^In control/)
    const jumped = [...calm, ...calm.map((s, i) => at(`2026-1${i % 3}-0${i + 1}`, s.points[0]!.differenceMk))]
    expect(chartVerdict(checkThermometerChart(thermometer, [...jumped, at('2027-01-01', 12)]))).toMatch(
      /^Out of control: the newest entry, 2027-01-01/,
    )
  })
})
