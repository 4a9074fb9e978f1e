import { describe, expect, it, onTestFinished } from 'vitest'
import type { Person } from '../../app/records/person.ts'
import type { Hashed } from '../../main/store/password.ts'
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

  const act = { who: 'test', why: '' }
  const secret = { form: 'scrypt 16 8 1', salt: Buffer.alloc(16), hash: Buffer.alloc(32) } as Hashed

  function people() {
    const store = openStationStore(temporaryFolder(), {
      mode: 'write',
      clock: { now: () => ({ utcUs: Date.UTC(2026, 2, 1, 23, 30) * 1000, monoUs: 0 }) },
    })
    onTestFinished(() => store.close())
    const save = (id: string, name: string, more: Partial<Person> = {}) =>
      store.people.save({ id, name, rights: ['operate'], ...more }, act)
    return { store, people: store.people, save }
  }
  const RULES: Person['rights'] = ['administer']

  it('finds a person by name whatever the case, and lets no two have one', () => {
    const { people: all, save } = people()
    save('anna', 'Anna Öst', { rights: RULES })
    expect(all.named('  anna ÖST ')?.id).toBe('anna')
    expect(all.named('Anna O\u0308st')?.id).toBe('anna')
    expect(all.named('Anna')).toBeUndefined()
    expect(() => save('other', 'ANNA ÖST')).toThrow('There is a person named')
    expect(() => save('anna', 'Anna West', { rights: RULES })).toThrow('A name stays')
    save('anna', 'Anna Öst', { rights: [...RULES, 'operate'] })
    expect(all.one('anna')!.rights).toEqual(['administer', 'operate'])
  })

  it('never leaves the station without somebody who can see to it', () => {
    const { people: all, save } = people()
    expect(() => save('bert', 'Bert')).toThrow('Somebody must be able to see to the station')
    expect(all.all()).toEqual([])
    save('anna', 'Anna', { rights: RULES })
    save('bert', 'Bert')
    expect(() => save('anna', 'Anna', { rights: RULES, closed: '2026-03-01' })).toThrow(
      'Somebody must be able',
    )
    expect(() => save('anna', 'Anna')).toThrow('Somebody must be able')
    save('bert', 'Bert', { rights: RULES })
    save('anna', 'Anna', { rights: RULES, closed: '2026-03-01' })
    expect(all.open().map(({ id }) => id)).toEqual(['bert'])
    expect(all.all()).toHaveLength(2)
  })

  it('signs a person out everywhere who is closed or has another password', () => {
    const { store, people: all, save } = people()
    save('anna', 'Anna', { rights: RULES })
    save('bert', 'Bert')
    for (const id of ['anna', 'bert']) all.staySignedIn(`window of ${id}`, id, HOUR_US)
    all.setPassword('anna', secret, act)
    expect(['anna', 'bert'].map((id) => all.signedIn(`window of ${id}`))).toEqual([undefined, 'bert'])
    expect([all.passwordOf('anna'), all.passwordOf('bert')]).toEqual([secret, undefined])
    expect(store.ledger({ most: 1 })[0]).toMatchObject({ what: 'password set', subject: 'anna', new: null })
    save('bert', 'Bert', { closed: '2026-03-01' })
    expect(all.signedIn('window of bert')).toBeUndefined()
    expect(() => all.setPassword('nobody', secret, act)).toThrow('There is no person "nobody".')
  })

  it('lets go of whoever tried the lab when the first real person comes', () => {
    const { people: all, save } = people()
    save('trial', 'Trial', { practice: true })
    expect(all.known).toBe(false)
    all.staySignedIn('window', 'trial', HOUR_US)
    save('anna', 'Anna', { rights: RULES })
    expect(all.known).toBe(true)
    expect(all.one('trial')!.closed).toBe('2026-03-01')
    expect(all.signedIn('window')).toBeUndefined()
    expect(all.open().map(({ id }) => id)).toEqual(['anna'])
  })

  it('gives a new person an id of the name that no other has', () => {
    const { people: all, save } = people()
    save('anna-ost', 'Anna Öst', { rights: RULES })
    save('anna-ost-2', 'Anna Ost')
    expect([all.freshId('Anna Ost'), all.freshId('  Bert  '), all.freshId('陳')]).toEqual([
      ...['anna-ost-3', 'bert', 'person'],
    ])
  })
})
