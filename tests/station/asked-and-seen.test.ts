import { describe, expect, it } from 'vitest'
import type { SessionEvent } from '../../app/records/session.ts'
import { Questions } from '../../main/station/questions.ts'
import { unseenAlarms } from '../../main/station/unseen-alarms.ts'

describe('Questions', () => {
  it('is open until it is answered with one of its choices, by its own number', async () => {
    let changes = 0
    const questions = new Questions(() => {
      changes += 1
    })
    expect(questions.open).toBeNull()
    const asked = questions.ask('Ready?', ['Yes', 'No'], new AbortController().signal)
    expect(questions.open).toEqual({ id: 'question-1', words: 'Ready?', choices: ['Yes', 'No'] })
    expect(() => questions.answer('question-0', 'Yes', 'M. Ode')).toThrow(
      expect.objectContaining({ code: 'no-such-question' }) as unknown as Error,
    )
    expect(() => questions.answer('question-1', 'Maybe', 'M. Ode')).toThrow(/Maybe.*Yes, No/)
    expect(changes).toBe(1)
    questions.answer('question-1', 'No', 'M. Ode')
    expect(await asked).toEqual({ choice: 'No', who: 'M. Ode' })
    expect([questions.open, changes]).toEqual([null, 2])
    expect(() => questions.answer('question-1', 'No', 'M. Ode')).toThrow(/./)
    void questions.ask('And now?', ['Yes'], new AbortController().signal)
    expect(questions.open!.id).toBe('question-2')
  })

  it('is taken back when it is no longer wanted, and not asked at all where it was not before', async () => {
    let changes = 0
    const questions = new Questions(() => {
      changes += 1
    })
    const gone = new AbortController()
    const asked = questions.ask('Ready?', ['Yes'], gone.signal)
    gone.abort(new Error('stopped'))
    await expect(asked).rejects.toThrow('stopped')
    expect([questions.open, changes]).toEqual([null, 2])
    await expect(questions.ask('Ready?', ['Yes'], gone.signal)).rejects.toThrow('stopped')
    expect([questions.open, changes]).toEqual([null, 2])
    // What was answered in time is not undone by a later stop.
    const later = new AbortController()
    const answered = questions.ask('Ready?', ['Yes'], later.signal)
    questions.answer(questions.open!.id, 'Yes', 'M. Ode')
    void questions.ask('Next?', ['Yes'], new AbortController().signal)
    later.abort(new Error('stopped'))
    expect(await answered).toEqual({ choice: 'Yes', who: 'M. Ode' })
    expect(questions.open!.words).toBe('Next?')
  })
})

describe('unseenAlarms', () => {
  let n = 0
  const event = (kind: SessionEvent['kind'], key: string, words = key, data: object = {}): SessionEvent => ({
    ...{ n: ++n, utcUs: 1_000 * n, monoUs: 0, kind, who: 'station', subject: `subject of ${key}`, words },
    data: { key, kind: 'link', severity: 'warning', ...data },
  })

  it('are those that nobody has seen since they came last, in the order of their coming, counted', () => {
    n = 0
    const found = unseenAlarms([
      event('alarm', 'seen'),
      event('alarm', 'twice', 'The first time.'),
      event('alarm', 'again', 'Before it was seen.'),
      event('alarm-acknowledged', 'seen'),
      event('alarm-acknowledged', 'again'),
      event('alarm', 'once', 'Once.', { severity: 'alarm' }),
      event('alarm', 'twice', 'The second time.'),
      event('alarm', 'again', 'After it was seen.'),
      event('note', 'note'),
      event('alarm', 'strange', 'Of a kind that is not known.', { kind: 'strange' }),
    ])
    expect(found.map(({ view }) => [view.id, view.words, view.count, view.utcUs])).toEqual([
      ['twice', 'The second time.', 2, 7_000],
      ['once', 'Once.', 1, 6_000],
      ['again', 'After it was seen.', 1, 8_000],
    ])
    expect(found[1]).toMatchObject({
      view: { active: false, acknowledgedBy: null, severity: 'alarm', subject: 'subject of once' },
      cause: { key: 'once', kind: 'link', severity: 'alarm', subject: 'subject of once' },
    })
  })
})
