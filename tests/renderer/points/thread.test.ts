import { describe, expect, it } from 'vitest'
import type { Thread } from '../../../app/contract/studies.ts'
import { inputCells, needs, readable, threadMeasured } from '../../../renderer/points/thread.model.ts'
import { FakeStation } from '../../browser/fake/station.ts'

const station = new FakeStation({ channels: 3, rateHz: 1, scene: 'ready', speed: 1 })
station.begin(station.plans[0]!, 'x', '', 10 * 3600)
const points = station.points()
const { channels } = station.state()
const threadOf = (key: string, value: string, unit: string): Thread => ({
  key,
  name: 'a number',
  value,
  unit,
  formula: '',
  source: '',
  inputs: [{ key: null, name: 'Rs', value: '99.9996618313649', unit: 'ohm', words: 'certificate' }],
  readings: null,
})
const number = (exact: number, uncertainty: string | null, k: string | null) => ({ exact, uncertainty, k })
const numbers = {
  'prt-a.coefficient.a': number(0.003908472994596635, '5.5e-7', '2.02'),
  'prt-a.point.p-1.residual': number(-0.13468387830961603, null, null),
  'prt-a.point.p-1.expanded': number(3.6491705589790775, '3.6', '2.00'),
}
const of = (key: string, value: string, unit: string) =>
  threadMeasured(threadOf(key, value, unit), { numbers, points, channels })

describe('threadMeasured', () => {
  it('takes every digit and the printed uncertainty of a coefficient from the report', () => {
    expect(of('fit/prt-a/coefficient/a', '3.90847299e-3 ± 5.5e-7 (k = 2.02)', '1/°C')).toEqual({
      value: 0.003908472994596635,
      unit: '1/°C',
      expanded: 5.5e-7,
      k: 2.02,
    })
  })

  it('gives a residual the uncertainty of its point, and an uncertainty none of its own', () => {
    expect(of('fit/prt-a/point/p-1/residualMk', '-0.13', 'mK')).toMatchObject({
      expanded: 3.6491705589790775,
      k: 2,
    })
    expect(of('prt-a.point.p-1.expanded', '3.6 ± 3.6 (k = 2.00)', 'mK')).toMatchObject({
      expanded: null,
      about: 'expanded uncertainty, k = 2.00',
    })
  })

  it('knows of a point and of a live value only how far its readings scatter', () => {
    const used = points[0]!.channels[1]!
    expect(of(`point/${points[0]!.id}/${used.channel}/t90C`, String(used.t90C), 'degC')).toMatchObject({
      value: used.t90C,
      expanded: (used.uTypeAMk! / 1000) * 2,
    })
    const live = channels[0]!
    const value = String(live.temperature.value)
    expect(of(`live/${live.id}/temperature`, value, 'degC')?.expanded).toBe(live.temperature.u! * 2)
  })

  it('is nothing where there is no number', () => {
    expect(of('point/p-9/nobody/signal', 'none', 'ohm')).toBeNull()
  })
})

describe('needs', () => {
  it('tells from a key who knows the uncertainty', () => {
    expect(['live/a/ratio', 'point/p/a/signal', 'fit/a/coefficient/b', 'a.rWtp'].map(needs)).toEqual([
      'state',
      'points',
      'report',
      'report',
    ])
  })
})

describe('readable', () => {
  it('shortens what was computed and leaves what an instrument sent', () => {
    expect(readable('0.0000015854462868767988', 'ratio')).toBe('1.585\u2009446\u200929 × 10⁻⁶')
    expect(readable('99.9996618313649', 'ohm')).toBe('99.999\u2009661\u20098 Ω')
    expect(readable('+1.000000123E+00', 'ratio')).toBe('+1.000000123E+00')
    expect(readable('QCH-R-QR100-0071', 'its90')).toBe('QCH-R-QR100-0071 its90')
  })
})

describe('inputCells', () => {
  it('keeps every digit of what went in', () => {
    expect(inputCells(threadOf('k', '1', ''))[1]).toEqual(['Rs', '99.9996618313649', 'Ω', 'certificate'])
  })
})
