import { expect, it } from 'vitest'
import { PRACTICE_PACE } from '../../app/contract/views.ts'
import { USUAL_PACE } from '../../app/plan/estimate.ts'
import { previewPlan } from '../../app/plan/preview.ts'
import { LAB_PLAN } from '../../main/host/lab-desk.ts'
import { WALK, type WalkFacts } from '../../renderer/desk/walk.model.ts'
import { PRESETS } from '../../renderer/plan/rule.model.ts'
import { readyBench } from '../../simulator/paperwork/bench.ts'
import { SCENARIOS } from '../../simulator/scenarios/index.ts'

/** Silent reading of English prose; Brysbaert, J. Mem. Lang. 109 (2019) 104047, mean of 190 studies (from memory). */
const WORDS_PER_S = 238 / 60
/** To find what is meant and to press it; common practice, no source. */
const DEED_S = 5
/** Deeds with something to type or to answer. */
const LONGER_S: Readonly<Record<string, number>> = { person: 20, plan: 10, start: 10, sign: 30 }

const FACTS: WalkFacts = {
  ...{ place: 'watch', signedIn: true, hasBench: true, recordOpen: true, thermometerChosen: true },
  ...{ planSaved: true, stepsOpen: true, started: true, channels: 5, measuring: 5, threadOpen: true },
  ...{ water: 'flat', waterWords: '', points: 5, fitChosen: true, reportSeen: true, ended: true },
  ...{ signed: true, certificateSaved: true },
}

it('the first walk takes about five minutes at the pace of a practice station, reading every word of it', () => {
  const scenario = SCENARIOS.demo
  const bench = readyBench(
    scenario,
    new Map(scenario.instruments.map(({ id }) => [id, { kind: 'tcp', host: '127.0.0.1', port: 1 }])),
  )
  const { rule } = PRESETS.find(({ id }) => id === 'quick')!
  const plan = { ...LAB_PLAN, settling: { ...LAB_PLAN.settling, ...rule } }
  const night = previewPlan({
    ...{ plan, bench, date: '2026-03-01', units: {}, pace: USUAL_PACE },
    ...{ limits: undefined, fromC: 23, freeBytes: undefined },
    register: { thermometers: [], resistors: [], instruments: [], fluids: [] },
  })
  /** When what a step waits for has happened, s of the person's time after the start. */
  const readyS: Readonly<Record<string, number>> = {
    settling: (night.steps[0]!.startS + night.steps[0]!.travelS + night.steps[0]!.settleS) / PRACTICE_PACE,
    point: night.steps[0]!.endS / PRACTICE_PACE,
    fit: night.steps[2]!.endS / PRACTICE_PACE,
    sign: night.totalS / PRACTICE_PACE,
  }
  let atS = 0
  let startedS = 0
  for (const step of WALK) {
    const words = [step.title, step.words(FACTS), step.why].join(' ').split(/\s+/).length
    atS += words / WORDS_PER_S
    if (readyS[step.id] !== undefined) atS = Math.max(atS, startedS + readyS[step.id]!)
    atS += LONGER_S[step.id] ?? DEED_S
    if (step.id === 'start') startedS = atS
  }
  expect(atS).toBeLessThan(300)
  // The night itself is no longer than what is read and done beside it, so that nobody waits for a clock.
  expect(night.totalS / PRACTICE_PACE).toBeLessThan(120)
})
