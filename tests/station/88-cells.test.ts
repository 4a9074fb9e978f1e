import { join } from 'node:path'
import { describe, expect, it, onTestFinished } from 'vitest'
import { messageIn, sentenceOf } from '../../app/messages/said.ts'
import { CellPlan } from '../../app/records/cell-plan.ts'
import { seededRandom } from '../../app/statistics/random.ts'
import { prepare } from '../../app/thermometry/convert.ts'
import { type FixedPointName, fixedPointTemperature } from '../../app/thermometry/fixed-points.ts'
import { refuseCellPlan } from '../../main/station/cell-plan.ts'
import { CellRunner } from '../../main/station/cell-runner.ts'
import { CellState, firstCellState } from '../../main/station/cell-state.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'
import { Questions } from '../../main/station/questions.ts'
import { Recorder } from '../../main/station/recorder.ts'
import { createSessionFile } from '../../main/store/session-file.ts'
import { simulate } from '../report/fixture.ts'
import { exampleInfo, START_UTC_US, temporaryFolder } from '../store/example.ts'

const WHO = 'M. Ode'
/** An invented thermometer of the scale, in cells whose element nobody told the depth of. */
const TRUE = { rWtp: 25.4217, a: -2.4e-4, b: -1.1e-5 }
const DEPTH_M = 0.15
const EVERY_S = 10

const curve = (rWtp: number) =>
  prepare({
    kind: 'its90',
    rWtp: String(rWtp),
    subrange: '3.3.2.2',
    coefficients: { a: String(TRUE.a), b: String(TRUE.b) },
  })

interface Options {
  steps: FixedPointName[]
  /** How far R(0.01 °C) has moved when a step begins, mK. */
  movedMk?: (step: number) => number
  /** Readings that a cell never holds still for. */
  restless?: boolean
}

/** A station's sequence with a thermometer whose signal is a formula: it comes to the cell's temperature and stays there, or not. */
function setUp({ steps, movedMk = () => 0, restless = false }: Options) {
  const clock = new VirtualClock({ startUtcUs: START_UTC_US })
  const plan = CellPlan.parse({
    channel: 'x3',
    steps: steps.map((fixedPoint) => ({ fixedPoint })),
    leastS: 1200,
    subrange: steps.includes('Zn') ? '3.3.2.2' : '3.3.2.4',
  })
  const { setup: made } = simulate().input
  // The formula has no self-heating; the register must not take one off.
  const thermometers = made.register.thermometers.map(({ selfHeatingMk: _, ...rest }) => rest)
  const setup = { ...made, register: { ...made.register, thermometers }, plan: null, job: null, cells: plan }
  const path = join(temporaryFolder(), 'cells.stillpoint')
  const info = { ...exampleInfo, kind: 'fixed-point' as const }
  const file = createSessionFile(path, { info, setup, clock })
  const recorder = new Recorder(file, clock, 0, 0)
  const random = seededRandom(4)
  const lives: CellRunner[] = []
  const questions: Questions[] = []
  const live = (state: CellState) => {
    const asks = new Questions(() => undefined)
    questions.push(asks)
    const { bench, register } = setup
    const runner = new CellRunner(
      {
        ...{ plan, bench, register, clock, recorder, questions: asks },
        ready: async () => undefined,
        onChange: () => undefined,
      },
      state,
    )
    lives.push(runner)
    return runner
  }
  const read = () => {
    const { step, inCellUtcUs } = lives.at(-1)!.state
    const { utcUs, monoUs } = clock.now()
    const inS = inCellUtcUs === null ? 0 : (utcUs - inCellUtcUs) / 1e6
    const point = plan.steps[step]!.fixedPoint
    const celsius =
      fixedPointTemperature(point, DEPTH_M) + 4 * Math.exp(-inS / 60) + (restless ? inS * 1e-5 : 0)
    const { value } = curve(TRUE.rWtp * (1 + 3.9885e-6 * movedMk(step))).toSignal(celsius)
    const raw = (value / 100 + 2e-9 * random.normal()).toFixed(10)
    recorder.take({ channel: 'x3', utcUs, monoUs, raw, value: raw, unit: 'ratio', marks: [], currentMa: 1 })
  }
  onTestFinished(() => {
    recorder.close()
    file.close()
    clock.stop()
  })
  return {
    clock,
    file,
    live,
    questions,
    /** Reads on for so long, and answers what is asked by its words. */
    async go(hours: number, answers: (words: string, minutes: number) => string | undefined) {
      const since = new Map<string, number>()
      for (let s = 0; s < hours * 3600 && lives.at(-1)!.state.phase !== 'ended'; s += EVERY_S) {
        read()
        await clock.sleep(EVERY_S * 1000)
        const asks = questions.at(-1)!
        const open = asks.open
        if (!open) continue
        const { utcUs } = clock.now()
        const asked = since.get(open.id) ?? utcUs
        since.set(open.id, asked)
        const choice = answers(open.words, (utcUs - asked) / 60e6)
        if (choice !== undefined) asks.answer(open.id, choice, WHO)
      }
    },
    words: () => file.events().map(({ words }) => words),
  }
}

/** As a person does who is at hand: the thermometer goes in at once, and a plateau is taken after half an hour. */
const atHand = (words: string, minutes: number) =>
  words.startsWith('Next') ? 'It is in the cell' : minutes >= 35 ? 'Take the plateau' : undefined

describe('a sequence of cells that the station runs', () => {
  it('asks for each cell, says each plateau while it happens, and ends in coefficients within U of the truth', async () => {
    const box = setUp({ steps: ['H2O', 'Sn', 'H2O', 'Zn', 'H2O'] })
    const runner = box.live(firstCellState())
    const done = runner.start()
    await box.go(8, atHand)
    await done
    expect(runner.state).toMatchObject({ phase: 'ended', ending: 'complete', marks: [] })
    const words = box.words()
    for (const expected of [
      /^M\. Ode has put .* into the water triple point cell, step 1 of 5\.$/,
      /^the Sn cell: on the plateau for .*, slope [+-]\d+\.\d\d mK\/h\.$/,
      /^the Zn cell: taken by M\. Ode, R = \d+\.\d{6} ohm at 419\.5\d* °C, u = \d+\.\d\d mK, from .* of plateau\.$/,
      /^R\(0\.01 °C\) has moved by -?0\.\d{3} mK since the water before, U \d\.\d{3} mK: it has stayed\.$/,
    ])
      expect(words.filter((line) => expected.test(line)).length, String(expected)).toBeGreaterThan(0)
    const last = box.file.events().at(-1)!
    const { coefficients, covariance, conversion } = last.data as {
      coefficients: { name: string; value: number; expanded: number }[]
      covariance: { names: string[]; matrix: number[][] }
      conversion: { subrange: string }
    }
    expect(conversion.subrange).toBe('3.3.2.2')
    const found = new Map(coefficients.map((c) => [c.name, c]))
    // The formula is a ratio to 100 ohm and the register's resistor is not quite: it goes out of W, not of R(0.01 °C).
    for (const name of ['a', 'b'] as const)
      expect(Math.abs(found.get(name)!.value - TRUE[name]), name).toBeLessThan(found.get(name)!.expanded)
    expect(found.get('rWtp')!.value).toBeCloseTo(TRUE.rWtp, 3)
    expect(covariance.names).toEqual(['a', 'b'])
    expect(covariance.matrix[0]![1]).toBe(covariance.matrix[1]![0])
    expect(covariance.matrix[0]![1]).not.toBe(0)
    for (const event of box.file.events()) expect(sentenceOf(messageIn(event)!)).toBe(event.words)
  }, 60_000)

  it('goes on in the same cell after the station was away, with the plateaus that were taken', async () => {
    const box = setUp({ steps: ['H2O', 'In', 'H2O'] })
    const first = box.live(firstCellState())
    void first.start()
    await box.go(1, atHand)
    expect(first.state).toMatchObject({ step: 1, phase: 'watching' })
    await first.detach()
    const kept = CellState.parse(box.file.runnerState())
    expect(kept.taken.map(({ fixedPoint }) => fixedPoint)).toEqual(['H2O'])
    const second = box.live({ ...kept, phase: 'opening' })
    const done = second.start()
    await box.go(4, atHand)
    await done
    expect(second.state).toMatchObject({ ending: 'complete' })
    // The thermometer stayed in the indium cell: nobody is asked to put it there again.
    expect(box.words().filter((line) => line.includes('into the In cell'))).toHaveLength(1)
  }, 60_000)

  it('asks for the water again where R(0.01 °C) has moved, and takes the newer one', async () => {
    let again = 0
    const box = setUp({
      steps: ['H2O', 'In', 'H2O'],
      movedMk: (step) => (step === 2 && again === 0 ? 3 : 0),
    })
    const runner = box.live(firstCellState())
    const done = runner.start()
    await box.go(6, (words, minutes) => {
      if (!words.startsWith('R(0.01 °C) has moved')) return atHand(words, minutes)
      again += 1
      return 'Take the water triple point again'
    })
    await done
    expect(again).toBe(1)
    expect(runner.state).toMatchObject({ ending: 'complete', marks: [] })
    expect(runner.steps[2]!.moved).toMatchObject({ agrees: true })
    expect(box.words().filter((line) => /it has moved\.$/.test(line))).toHaveLength(1)
  }, 60_000)

  it('takes no plateau that never was, nor a short one, and says why; a cell left out is a mark', async () => {
    const box = setUp({ steps: ['H2O', 'In', 'H2O'], restless: true })
    const runner = box.live(firstCellState())
    const done = runner.start()
    await box.go(0.4, (words) => (words.startsWith('Next') ? 'It is in the cell' : undefined))
    box.questions[0]!.answer(box.questions[0]!.open!.id, 'Take the plateau', WHO)
    await box.go(0.1, () => undefined)
    expect(runner.state.taken).toEqual([])
    expect(box.words().some((line) => /no plateau to take yet|of 20 min that are asked for/.test(line))).toBe(
      true,
    )
    await box.go(1, (words) => (words.startsWith('Next') ? undefined : 'Leave this cell out'))
    expect(runner.state.marks).toEqual(['Step 1, the water triple point cell: left out by M. Ode'])
    runner.stop(WHO, 'the furnace is cold')
    await done
    expect(runner.state).toMatchObject({
      ending: 'stopped-by-person',
      endingReason: 'Stopped by M. Ode: the furnace is cold',
    })
  }, 60_000)

  it('ends with every cell that was left out in its reason', async () => {
    const box = setUp({ steps: ['H2O', 'In', 'H2O'], restless: true })
    const runner = box.live(firstCellState())
    const done = runner.start()
    await box.go(2, (words) => (words.startsWith('Next') ? 'It is in the cell' : 'Leave this cell out'))
    await done
    expect(runner.state.ending).toBe('complete-with-marks')
    const out = (step: number, cell: string) => `Step ${step}, the ${cell} cell: left out by M. Ode.`
    expect(runner.state.endingReason).toContain(
      ` ${out(1, 'water triple point')} ${out(2, 'In')} ${out(3, 'water triple point')}`,
    )
  }, 60_000)

  it('is refused for a channel or a cell that there is not, and for an order without water at both ends', () => {
    const { bench } = simulate().input.setup
    const plan = (channel: string, steps: { fixedPoint: FixedPointName; cell?: string }[]) =>
      refuseCellPlan(CellPlan.parse({ channel, steps }), bench, [])
    const good = [{ fixedPoint: 'H2O' }, { fixedPoint: 'Zn' }, { fixedPoint: 'H2O' }] as const
    expect(() => plan('x3', [...good])).not.toThrow()
    expect(() => plan('x99', [...good])).toThrow(/no channel "x99" in use\. Choose one of: /)
    expect(() => plan('x3', [good[1], good[0], good[1]])).toThrow(/begins and ends with the water/)
    expect(() => plan('x3', [good[0], { fixedPoint: 'Zn', cell: 'zn-7' }, good[2]])).toThrow(
      /no cell "zn-7" in the register/,
    )
  })
})
