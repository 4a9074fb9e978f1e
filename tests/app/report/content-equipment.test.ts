import { describe, expect, it } from 'vitest'
import { buildReport } from '../../../app/report/content.ts'
import { analyse } from '../../../app/results/analysis.ts'
import { simulate } from '../../report/fixture.ts'

type Setup = ReturnType<typeof simulate>['input']['setup']

/** The sentence of the ways to the SI. */
function waysOf(choices: Parameters<typeof simulate>[0], change: (setup: Setup) => void = () => {}) {
  const { input } = simulate(choices)
  const setup = structuredClone(input.setup)
  change(setup)
  const { blocks } = buildReport(analyse({ ...input, setup, options: { monteCarloTrials: 0 } }))
  const text = blocks.flatMap((b) => (b.kind === 'text' ? [b.text] : [])).join(' ')
  return /International System of Units \(SI\) by: ([^.]*)\./.exec(text)?.[1]
}

describe('the ways by which results lead to the SI', () => {
  const temperatures = 'temperatures through the calibration of the reference thermometer on the ITS-90'
  const resistances = 'resistances through the reference resistors'
  const voltages = 'thermal voltages through the calibration of the meter'

  it('are those of what was measured, and no others', () => {
    expect(waysOf({})).toBe(`${temperatures}, ${resistances}`)
    expect(waysOf({ thermocouple: true })).toBe(`${temperatures}, ${resistances}, ${voltages}`)
    expect(
      waysOf({}, ({ bench }) => {
        for (const channel of bench.channels) Object.assign(channel, { reference: null })
      }),
    ).toBe(temperatures)
  })
})
