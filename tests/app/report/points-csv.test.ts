import { parse } from 'csv-parse/sync'
import { describe, expect, it } from 'vitest'
import { pointsCsv } from '../../../app/report/points-csv.ts'
import { analyse } from '../../../app/results/analysis.ts'
import { simulate } from '../../report/fixture.ts'

describe('points.csv', () => {
  const { input } = simulate({ thermocouple: true })
  const leaveOut = {
    ...{ n: 10, utcUs: 0, monoUs: 0, kind: 'amendment' as const, who: 'B. Wend', subject: null, words: '' },
    data: { target: { what: 'point', point: 'p5', channel: 'x1' }, restore: false, why: 'moved' },
  }
  const analysis = analyse({
    ...input,
    events: [...input.events, leaveOut],
    options: { monteCarloTrials: 0 },
  })
  const rows = parse(pointsCsv(analysis), { columns: true, record_delimiter: '\r\n' }) as Record<
    string,
    string
  >[]
  const rowOf = (point: string, channel: string) =>
    rows.find((r) => r.point === point && r.channel === channel)!
  const resultOf = (point: string, channel: string) =>
    analysis.thermometers
      .find((t) => t.record.channel.id === channel)!
      .points.find((p) => p.pair.point === point)!

  it('has a row for every channel of every point', () => {
    const all = input.points.flatMap(({ id, channels }) => channels.map(({ channel }) => `${id} ${channel}`))
    expect(rows.map(({ point, channel }) => `${point} ${channel}`)).toEqual(all)
  })

  it('says what was measured, when, of which thermometer, in its unit', () => {
    for (const point of input.points)
      for (const at of point.channels) {
        const row = rowOf(point.id, at.channel)
        expect(row).toMatchObject({
          ...{ kind: point.kind, setpoint_C: String(point.setpointC), label: point.label ?? '' },
          ...{ settled: point.settled ? 'yes' : 'no', n: String(at.n), left_out: String(at.leftOut) },
          ...{ first_seq: String(at.firstSeq), last_seq: String(at.lastSeq), raw_unit: at.rawUnit },
          signal_unit: at.channel === 'x5' ? 'mV' : 'ohm',
          marks: at.marks.join(' '),
        })
        expect(Number(row.raw_mean)).toBe(at.rawMean)
        expect(Date.parse(row.start_utc!) * 1000).toBe(point.startUtcUs)
        expect(Date.parse(row.end_utc!) * 1000).toBe(point.endUtcUs)
      }
    expect(rowOf('p1', 's0')).toMatchObject({ thermometer: 'ref-25', role: 'reference' })
    expect(rowOf('p1', 'x3')).toMatchObject({ thermometer: 'sprt-x3', role: 'under-test' })
  })

  it('says what the analysis made of each thermometer under test, and of the reference its temperature alone', () => {
    for (const channel of ['x1', 'x4', 'x5']) {
      const { pair, budget, residualMk, leaveOneOutMk } = resultOf('p3', channel)
      const row = rowOf('p3', channel)
      expect(Number(row.signal_zero_current)).toBe(pair.underTest.signal)
      expect(Number(row.self_heating_mK)).toBe(pair.underTest.selfHeatingMk)
      expect(Number(row.t90_reference_C)).toBe(pair.referenceC)
      expect(Number(row.residual_mK)).toBe(residualMk)
      expect(Number(row.leave_one_out_mK)).toBe(leaveOneOutMk)
      expect([row.u_mK, row.k, row.U_mK].map(Number)).toEqual([budget.u, budget.k, budget.expanded])
      expect(Number(row.U_mK) / Number(row.u_mK)).toBeCloseTo(Number(row.k), 9)
      expect(row.effective_dof).toBe(
        Number.isFinite(budget.degreesOfFreedom) ? String(budget.degreesOfFreedom) : 'infinite',
      )
    }
    const reference = rowOf('p3', 's0')
    expect(reference).toMatchObject({ included: '', residual_mK: '', u_mK: '', k: '', effective_dof: '' })
    const at = input.points.find(({ id }) => id === 'p3')!.channels.find(({ channel }) => channel === 's0')!
    expect(Number(reference.t90_reference_C)).toBe(at.t90C)
  })

  it('says which points a person left out, and keeps them', () => {
    expect(rowOf('p5', 'x1').included).toBe('no')
    expect(rowOf('p5', 'x2').included).toBe('yes')
    expect(rowOf('p4', 'x1').included).toBe('yes')
    expect(rowOf('p5', 'x1').residual_mK).not.toBe('')
  })
})
