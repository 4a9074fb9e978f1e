import { celsiusWords } from '../../app/live/words.ts'
import { said } from '../../app/messages/said.ts'
import type { AlarmDesk } from './alarm-desk.ts'
import type { Answer, Questions } from './questions.ts'
import type { Recorder } from './recorder.ts'

export interface ByHandParts {
  readonly bath: string
  readonly questions: Questions
  readonly alarms: AlarmDesk
  readonly recorder: Recorder
}

export const BY_HAND = { set: 'Set', skip: 'Skip this setpoint', stop: 'Stop the plan' } as const

/** Asks for a bath without a link to be set, and writes down who has done it. */
export async function setByHand(parts: ByHandParts, celsius: number, signal: AbortSignal): Promise<Answer> {
  const { bath, questions, alarms, recorder } = parts
  const to = celsiusWords(celsius)
  alarms.raise({
    key: 'by-hand',
    kind: 'bath',
    severity: 'notice',
    subject: null,
    said: said('waits-by-hand', { bath, celsius: to }),
  })
  try {
    const answer = await questions.ask(
      `Set ${bath} to ${to} by hand, and say so here. Hot or very cold fluid burns: keep to the rules of your laboratory.`,
      Object.values(BY_HAND),
      signal,
    )
    if (answer.choice === BY_HAND.set) {
      const { who } = answer
      recorder.commit({
        events: [
          recorder.event({
            kind: 'setpoint',
            who,
            said: said('bath-by-hand', { who, bath, celsius: to }),
            data: { celsius, byHand: true },
          }),
        ],
      })
    }
    return answer
  } finally {
    alarms.end('by-hand')
  }
}
