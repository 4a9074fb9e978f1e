import { describe, expect, it } from 'vitest'
import { openStationStore } from '../../main/store/station-store.ts'
import { temporaryFolder } from './example.ts'

const HOUR_US = 3600e6

describe('People', () => {
  it('keeps a window signed in for its time and not longer, and forgets it when it is signed out', () => {
    let utcUs = Date.UTC(2026, 2, 1) * 1000
    const store = openStationStore(temporaryFolder(), {
      mode: 'write',
      clock: { now: () => ({ utcUs, monoUs: 0 }) },
    })
    const { people } = store
    people.staySignedIn('first', 'anna', 8 * HOUR_US)
    people.staySignedIn('second', 'bert', 24 * HOUR_US)
    utcUs += 8 * HOUR_US - 1
    expect([people.signedIn('first'), people.signedIn('second'), people.signedIn('third')]).toEqual([
      'anna',
      'bert',
      undefined,
    ])
    utcUs += 2
    expect(people.signedIn('first')).toBeUndefined()
    expect(people.signedIn('second')).toBe('bert')
    people.signOut('second')
    expect(people.signedIn('second')).toBeUndefined()
    store.close()
  })
})
