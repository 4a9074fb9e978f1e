import { beforeEach, describe, expect, it } from 'vitest'
import { askPerson, asPerson, orAsPerson, personStore } from '../../../renderer/page/person.ts'

/** Whoever sits here says who it is, or leaves the question. */
const answer = (entered: boolean) => personStore.getState().asked!.answer(entered)

beforeEach(() => personStore.setState({ onlooker: false, person: null, anybody: false, asked: null }))

describe('asPerson', () => {
  it('does what was pressed once whoever sits here has said who it is: the first click is not forgotten', async () => {
    const done: string[] = []
    const pressed = asPerson(() => done.push('saved'))
    expect(done).toEqual([])
    answer(true)
    await pressed
    expect(done).toEqual(['saved'])
    expect(personStore.getState().asked).toBeNull()
  })

  it('does nothing where the question is left', async () => {
    const done: string[] = []
    const pressed = asPerson(() => done.push('saved'))
    answer(false)
    await pressed
    expect(done).toEqual([])
  })

  it('asks nobody who is signed in', async () => {
    personStore.setState({ person: { id: 'p', name: 'A. Person', rights: ['operate'] } })
    const done: string[] = []
    await asPerson(() => done.push('saved'))
    expect(done).toEqual(['saved'])
    expect(personStore.getState().asked).toBeNull()
  })
})

describe('askPerson', () => {
  it('asks one question at a time: a second one leaves the first', async () => {
    const first = askPerson()
    const second = askPerson()
    expect(await first).toBe(false)
    answer(true)
    expect(await second).toBe(true)
  })
})

describe('orAsPerson', () => {
  /** A station that wants to know who it is, until somebody has said so. */
  const wanting = (code: string) => {
    const calls: string[] = []
    return {
      calls,
      save: async () => {
        calls.push('save')
        if (calls.length === 1) throw Object.assign(new Error('refused'), { code })
        return 'stored'
      },
    }
  }

  it('sends what was pressed once more when the custodian has been named, with its answer', async () => {
    const { calls, save } = wanting('SIGN_IN')
    const saved = orAsPerson(save)
    await Promise.resolve()
    answer(true)
    expect(await saved).toBe('stored')
    expect(calls).toEqual(['save', 'save'])
  })

  it('passes the refusal on where the question is left, and any other refusal without a question', async () => {
    const left = wanting('SIGN_IN')
    const leaving = orAsPerson(left.save)
    await Promise.resolve()
    answer(false)
    await expect(leaving).rejects.toThrow('refused')
    const other = wanting('BUSY')
    await expect(orAsPerson(other.save)).rejects.toThrow('refused')
    expect([left.calls, other.calls]).toEqual([['save'], ['save']])
    expect(personStore.getState().asked).toBeNull()
  })
})
