import { describe, expect, it } from 'vitest'
import {
  countWords,
  FRESH,
  readWalk,
  stepOf,
  WALK,
  type WalkFacts,
  walkCommand,
  walkReduce,
} from '../../../../renderer/desk/walk.model.ts'

const NOTHING: WalkFacts = {
  place: 'watch',
  signedIn: false,
  hasBench: false,
  recordOpen: false,
  thermometerChosen: false,
  planSaved: false,
  stepsOpen: false,
  started: false,
  channels: 0,
  measuring: 0,
  threadOpen: false,
  water: 'broken',
  waterWords: '',
  points: 0,
  fitChosen: false,
  reportSeen: false,
  ended: false,
  signed: false,
  certificateSaved: false,
}
/** What a person has done after each step, in the order of the walk. */
const DEEDS: Record<string, Partial<WalkFacts>> = {
  person: { signedIn: true },
  lab: { hasBench: true },
  'certificate-in': { place: 'register', recordOpen: true },
  bench: { place: 'bench', thermometerChosen: true },
  plan: { place: 'plan', planSaved: true },
  preview: { stepsOpen: true },
  start: { started: true },
  measuring: { place: 'watch', channels: 5, measuring: 5 },
  thread: { threadOpen: true },
  settling: { water: 'flat' },
  point: { place: 'points', points: 3 },
  fit: { fitChosen: true },
  report: { reportSeen: true },
  sign: { ended: true, signed: true },
  'certificate-out': { certificateSaved: true },
}

describe('WALK', () => {
  it('passes each step by its own deed and by none before it', () => {
    let facts = NOTHING
    for (const step of WALK) {
      expect(step.done(facts), step.id).toBe(false)
      facts = { ...facts, ...DEEDS[step.id] }
      expect(step.done(facts), step.id).toBe(true)
    }
  })

  it('takes the first reading of some channels for no more than that', () => {
    const measuring = WALK.find(({ id }) => id === 'measuring')!
    const facts = { ...NOTHING, channels: 5, measuring: 4 }
    expect(measuring.done(facts)).toBe(false)
    expect(measuring.words(facts)).toBe('4 of 5 channels have sent a reading.')
  })

  it('says of each step what to do, why, and where', () => {
    for (const step of WALK) {
      expect(step.words(NOTHING)).toMatch(/\.$/)
      expect(step.why).toMatch(/\.$/)
      expect(step.look.length).toBeGreaterThan(0)
    }
  })
})

describe('walkReduce', () => {
  it('goes on after a stop where it was, and from the beginning after the end', () => {
    let walk = walkReduce(FRESH, { do: 'begin' })
    walk = walkReduce(walkReduce(walk, { do: 'pass', id: 'person' }), { do: 'stop' })
    expect(walkCommand(walk)).toContain('(1 of 15 done)')
    walk = walkReduce(walk, { do: 'begin' })
    expect(stepOf(walk)?.id).toBe('lab')
    expect(countWords(stepOf(walk)!)).toBe('Step 2 of 15')
    for (const { id } of WALK) walk = walkReduce(walk, { do: 'pass', id })
    expect(stepOf(walk)).toBeUndefined()
    walk = walkReduce(walk, { do: 'finish' })
    expect(walk.stage).toBe('finished')
    expect(walkReduce(walk, { do: 'begin' })).toEqual({ stage: 'walking', done: [] })
  })

  it('is never begun by anything but the person', () => {
    expect(walkReduce(FRESH, { do: 'stop' })).toBe(FRESH)
  })
})

describe('readWalk', () => {
  it('reads what it kept, and begins afresh with anything else', () => {
    expect(readWalk('{"stage":"away","done":["lab","of-old"]}')).toEqual({ stage: 'away', done: ['lab'] })
    for (const text of [null, '', '{', '[]', '{"stage":"x","done":[]}', '{"stage":"away"}'])
      expect(readWalk(text)).toEqual(FRESH)
  })
})
