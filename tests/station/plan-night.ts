import { expect } from 'vitest'
import type { BathNight } from '../../app/contract/life.ts'
import { messageIn, sentenceOf } from '../../app/messages/said.ts'
import type { Point } from '../../app/records/point.ts'
import type { SessionEvent } from '../../app/records/session.ts'
import type { Finished } from '../../main/station/station.ts'
import { openSessionFile } from '../../main/store/session-file.ts'
import { bathNights } from '../../main/study/bath-nights.ts'
import { type Box, type BoxOptions, openBox, planOf } from './box.ts'

export interface Night {
  readonly finished: Finished
  readonly points: readonly Point[]
  readonly events: readonly SessionEvent[]
  readonly inBath: readonly BathNight[]
  /** Readings in a second: as the preview said, and as they came. */
  readonly perSecond: { readonly foretold: number; readonly came: number }
}

/** A plan from its start to its end on a virtual clock, and what its file says then. */
export async function night(
  plan: ReturnType<typeof planOf>,
  options: BoxOptions & { prepare?: (box: Box) => void } = {},
  act?: (box: Box) => Promise<void>,
): Promise<Night> {
  const box = await openBox({ scenario: 'quiet', ...options })
  try {
    options.prepare?.(box)
    const preview = box.station.preview(plan)
    const accept = preview.checks.map((c) => c.id)
    const beganUs = box.clock.now().monoUs
    const id = await box.station.startPlan({ plan, operator: 'Test', accept })
    await act?.(box)
    const finished = await box.station.finished
    const file = openSessionFile(box.store.sessionPath(id), { mode: 'read' })
    const tookS = (box.clock.now().monoUs - beganUs) / 1e6
    const found = {
      perSecond: {
        foretold: preview.readings / preview.totalS,
        came: box.store.sessions()[0]!.readings / tookS,
      },
      ...{ finished, points: file.points(), events: file.events() },
      inBath: bathNights([file.path], { id: file.setup.bench.bath!.register!, benches: [] }),
    }
    file.close()
    // Another bath was not in it; one of a session of before is known by its bench and its name there.
    expect(bathNights([file.path], { id: 'another', benches: [] })).toEqual([])
    expect(found.events.filter((event) => !isMadeOfItsMessage(event))).toEqual([])
    return found
  } finally {
    await box.close()
  }
}

/** Answers the station's questions as a person would, until the session ends. */
export async function answering(
  box: Box,
  answers: (words: string) => Promise<string> | string,
): Promise<void> {
  while (box.station.session) {
    const question = box.station.state().runner.question
    if (question) box.station.answer(question.id, await answers(question.words), 'M. Ode')
    await box.clock.sleep(5_000)
  }
}

/** An event carries a code and arguments, and its sentence is made of them and of nothing else. */
function isMadeOfItsMessage(event: SessionEvent): boolean {
  const message = messageIn(event)
  return message !== undefined && sentenceOf(message) === event.words
}

/** A settling rule that a quiet bath keeps within minutes. */
export const hurry = { settling: { ...planOf([25]).settling, windowS: 300, holdS: 60, driftMkPerMin: 3 } }
