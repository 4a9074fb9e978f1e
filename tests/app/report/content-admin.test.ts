import { describe, expect, it } from 'vitest'
import type { Block } from '../../../app/report/blocks.ts'
import { buildReport } from '../../../app/report/content.ts'
import { analyse } from '../../../app/results/analysis.ts'
import { simulate } from '../../report/fixture.ts'

type Change = (setup: ReturnType<typeof simulate>['input']['setup']) => void

function blocksOf(choices: Parameters<typeof simulate>[0] = {}, change: Change = () => {}): readonly Block[] {
  const { input } = simulate(choices)
  const setup = structuredClone(input.setup)
  change(setup)
  return buildReport(analyse({ ...input, setup, options: { monteCarloTrials: 0 } })).blocks
}

/** Channels that hang on a meter, without a reference resistor. */
const onMeter =
  (...channels: string[]): Change =>
  ({ bench }) => {
    for (const channel of bench.channels)
      if (channels.includes(channel.id)) Object.assign(channel, { reference: null })
  }

describe('how the signals were measured', () => {
  const told = (blocks: readonly Block[]) =>
    /([^.]*), and converted with the calibrations listed below/
      .exec(blocks.flatMap((b) => (b.kind === 'text' ? [b.text] : [])).join(' '))?.[1]
      ?.trim()

  it('names ratios, and nothing that was not there', () => {
    expect(told(blocksOf())).toBe('Resistances were measured as ratios to a reference resistor')
  })

  it('names the voltages of a thermocouple, which is no resistance on a meter', () => {
    expect(told(blocksOf({ thermocouple: true }))).toBe(
      'Resistances were measured as ratios to a reference resistor; thermal voltages were measured with a meter',
    )
  })

  it('names the channels that hang on a meter beside those on a bridge', () => {
    expect(told(blocksOf({}, onMeter('x1', 'x2')))).toBe(
      'Resistances were measured as ratios to a reference resistor; those of X1, X2 directly with a meter',
    )
  })

  it('names no bridge where all hang on a meter', () => {
    expect(told(blocksOf({}, onMeter('s0', 'x1', 'x2', 'x3', 'x4')))).toBe(
      'Resistances were measured directly with a meter',
    )
  })
})

describe('the headings of a report', () => {
  const blocks = blocksOf()
  const under = (text: string) => {
    const at = blocks.findIndex((b) => b.kind === 'heading' && b.text === text)
    return at < 0 ? null : blocks[at + 1]!
  }

  it('stand over the remarks, and over the checks that were not made', () => {
    expect(JSON.stringify(under('Remarks'))).toContain('No check thermometer was in the bath.')
    expect(JSON.stringify(under('Checks that were not made'))).toMatch(/not measured|not lifted/)
  })

  it('stand over no list of nothing: no findings, no changes, no amendment', () => {
    expect(under('What speaks against the results')).toBeNull()
    const captions = blocks.flatMap((b) => (b.kind === 'table' ? [b.caption] : []))
    expect(captions).not.toContain('Changes after the readings')
    expect(captions).toContain('Items calibrated')
    for (const block of blocks)
      if (block.kind === 'table') expect(block.rows.length, block.caption).toBeGreaterThan(0)
  })
})
