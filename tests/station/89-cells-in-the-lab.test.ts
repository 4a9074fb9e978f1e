import { expect, it } from 'vitest'
import { PRACTICE_PACE } from '../../app/contract/views.ts'
import { Cell } from '../../app/records/cell.ts'
import { CellPlan } from '../../app/records/cell-plan.ts'
import { followHands } from '../../main/host/lab-hands.ts'
import type { HostedStation } from '../../main/host/open-station.ts'
import { SessionDesk } from '../../main/host/session-desk.ts'
import { openSessionFile } from '../../main/store/session-file.ts'
import { readyCell } from '../../simulator/scenarios/cells.ts'
import { ELEMENT_DEPTH_M } from '../../simulator/scenarios/fixed-point.ts'
import { openBox } from './box.ts'

const WHO = 'M. Ode'
const STEPS = ['H2O', 'Zn', 'H2O', 'Sn', 'H2O'] as const
const SUBRANGE = '3.3.2.2'

it('goes from cell to cell of the lab over its wire, and ends in coefficients within U of its truth', async () => {
  const box = await openBox({ scenario: 'cells', seed: 3 })
  try {
    for (const fixedPoint of ['H2O', 'Zn', 'Sn'] as const)
      box.store.saveCell(
        Cell.parse({
          ...{ id: readyCell(fixedPoint), name: `${fixedPoint} cell`, fixedPoint },
          ...{ depthM: ELEMENT_DEPTH_M, uDepthM: 0.002, uMk: fixedPoint === 'H2O' ? 0.1 : 0.3 },
        }),
        WHO,
        '',
      )
    const cells = CellPlan.parse({
      channel: 'cell',
      steps: STEPS.map((fixedPoint) => ({ fixedPoint, cell: readyCell(fixedPoint) })),
      // As the window proposes it.
      leastS: 1200,
      subrange: SUBRANGE,
    })
    const id = await box.station.runCells({ operator: WHO, cells })
    // The lab's thermometer is where a person says that it is.
    const { lab, station, store } = box
    const hands = { lab, station, sessions: new SessionDesk({ store, station } as HostedStation) }
    let inCell = 0
    /** From the answer that the thermometer is in a cell until its plateau was there to be taken, s, by the cell. */
    const tookS = new Map<string, number>()
    while (box.station.session) {
      await box.clock.sleep(60_000)
      const question = box.station.state().runner.question
      if (!question) continue
      const { utcUs } = box.clock.now()
      if (question.words.startsWith('Next: ')) {
        inCell = utcUs
        await followHands(hands, 'It is in the cell')
        box.station.answer(question.id, 'It is in the cell', WHO)
        continue
      }
      const { cells: going } = box.station.state().runner
      const next = going?.steps.find(({ state }) => state === 'next')
      const inS = (utcUs - inCell) / 1e6
      // Tried each minute: the station takes no plateau that has not lasted yet.
      if (!next || !/Take its plateau/.test(question.words) || inS < cells.leastS) continue
      tookS.set(next.fixedPoint, inS)
      box.station.answer(question.id, 'Take the plateau', WHO)
    }
    const { ending, reason } = await box.station.finished
    expect([ending, reason]).toEqual(['complete', expect.any(String)])
    expect(tookS.get('Zn')! / PRACTICE_PACE).toBeLessThan(180)
    const file = openSessionFile(box.store.sessionPath(id), { mode: 'read' })
    const events = file.events()
    file.close()
    expect(
      events.filter(({ words }) => /^R\(0\.01 °C\) has moved by .*: it has stayed\.$/.test(words)),
    ).toHaveLength(2)
    const { coefficients } = events.findLast(({ data }) => 'coefficients' in data)!.data as {
      coefficients: { name: 'rWtp' | 'a' | 'b'; value: number; expanded: number }[]
    }
    const { curve } = box.lab.truth.thermometers.get('sprt-0212')!
    // The lab's thermometer follows a (W - 1) + b (W - 1)^2, as that subrange does.
    if (curve.kind !== 'its90') throw new Error('the thermometer in the cells is one of the scale')
    expect(coefficients.map(({ name }) => name)).toEqual(['rWtp', 'a', 'b'])
    for (const { name, value, expanded } of coefficients)
      expect(Math.abs(value - curve[name]), `${name}, U ${expanded}`).toBeLessThan(expanded)
  } finally {
    await box.close()
  }
}, 120_000)
