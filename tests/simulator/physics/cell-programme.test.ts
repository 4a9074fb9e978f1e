import { describe, expect, it } from 'vitest'
import { PRACTICE_PACE } from '../../../app/contract/views.ts'
import { VirtualClock } from '../../../main/station/clocks/virtual.ts'
import { startLab } from '../../../simulator/lab.ts'
import { type CellSubstance, fixedPoint, plateauC } from '../../../simulator/scenarios/fixed-point.ts'
import { RawClient } from '../bench-client.ts'

/** What a furnace says of its programme, and the cell's temperature, every so many minutes. */
async function watched(substance: CellSubstance, hours: number, everyMin: number) {
  const clock = new VirtualClock({ startUtcUs: Date.UTC(2026, 2, 1) * 1000 })
  const lab = await startLab({ seed: 5, clock, scenario: fixedPoint(substance) })
  const panel = await RawClient.open(lab, 'bath')
  const seen: { phase: string; celsius: number }[] = []
  try {
    for (let minute = 0; minute <= hours * 60; minute += everyMin) {
      const phase = (await panel.ask('SOUR:PROG:PHAS?\n')).trim()
      seen.push({ phase, celsius: lab.truth.temperatureAt('sprt-0212') })
      await clock.sleep(everyMin * 60_000)
    }
    return {
      seen,
      panel: async (text: string) => (await panel.ask(text)).trim(),
      tell: (text: string) => panel.tell(text),
      end,
    }
  } catch (fault) {
    await end()
    throw fault
  }
  async function end() {
    panel.socket.destroy()
    await lab.close()
    clock.stop()
  }
}

describe('CellProgramme', () => {
  it('takes tin through its melt, ten kelvins of undercooling and its freeze, one after the other', async () => {
    const { seen, end } = await watched('Sn', 5, 2)
    await end()
    const phases = [...new Set(seen.map(({ phase }) => phase))]
    expect(phases).toEqual(['MELT', 'MOLTEN', 'SEED', 'FREEZE', 'DONE'])
    const coldest = Math.min(...seen.filter(({ phase }) => phase === 'SEED').map(({ celsius }) => celsius))
    expect(plateauC('Sn') - coldest).toBeGreaterThan(8)
    const frozen = seen.filter(({ phase }) => phase === 'FREEZE').map(({ celsius }) => celsius)
    const onPlateau = frozen.filter((celsius) => Math.abs(celsius - plateauC('Sn')) < 0.001)
    expect(onPlateau.length / frozen.length).toBeGreaterThan(0.8)
  })

  it('has a first freeze of zinc that lasted for twenty minutes within three minutes at the pace of practice', async () => {
    const everyMin = 2
    const { seen, end } = await watched('Zn', 5, everyMin)
    await end()
    const isOn = ({ phase, celsius }: (typeof seen)[number]) =>
      phase === 'FREEZE' && Math.abs(celsius - plateauC('Zn')) < 0.001
    const first = seen.findIndex(isOn)
    const lasted = first + 20 / everyMin
    expect(seen.slice(first, lasted + 1).every(isOn)).toBe(true)
    expect((lasted * everyMin * 60) / PRACTICE_PACE).toBeLessThan(180)
  })

  it('holds water, and ends when a setpoint comes from outside', async () => {
    const { seen, panel, tell, end } = await watched('H2O', 1, 20)
    expect(new Set(seen.map(({ phase }) => phase))).toEqual(new Set(['HOLD']))
    expect(seen.at(-1)!.celsius).toBeCloseTo(plateauC('H2O'), 3)
    tell('SOUR:TEMP:SPO 5\n')
    expect(await panel('SOUR:PROG?\n')).toBe('0')
    tell('SOUR:PROG ON\n')
    expect(await panel('SOUR:PROG:PHAS?\n')).toBe('HOLD')
    await end()
  })
})
