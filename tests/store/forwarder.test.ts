import { join } from 'node:path'
import { expect, it, onTestFinished } from 'vitest'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'
import { Forwarder } from '../../main/store/forward/forwarder.ts'
import { Outbox } from '../../main/store/forward/outbox.ts'
import { type ForwardTarget, OtherRecord, type Parcel, type Part } from '../../main/store/forward/target.ts'
import { createSessionFile } from '../../main/store/session-file.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { exampleClock, exampleInfo, exampleSetup, scan, temporaryFolder } from './example.ts'

/** Another side that does as it is told, and writes down what it is asked. */
class Other implements ForwardTarget {
  readonly sent: string[] = []
  readonly asked: Part[] = []
  abandoned = 0
  closed = 0
  take: (parcel: Parcel) => Promise<void> = () => Promise.resolve()
  has: ForwardTarget['count'] = ({ after, upTo }) =>
    Promise.resolve({
      seq: upTo.seq - after.seq,
      event: upTo.event - after.event,
      point: upTo.point - after.point,
    })

  async send(parcel: Parcel): Promise<void> {
    this.sent.push(
      `${parcel.session.id} ${parcel.readings[0]?.seq ?? '-'}..${parcel.readings.at(-1)?.seq ?? '-'}`,
    )
    await this.take(parcel)
  }
  count(part: Part) {
    this.asked.push(part)
    return this.has(part)
  }
  close(): Promise<void> {
    this.closed += 1
    return Promise.resolve()
  }
  abandon(): void {
    this.abandoned += 1
  }
}

function station() {
  const clock = new VirtualClock({ startUtcUs: 0 })
  const store = openStationStore(join(temporaryFolder(), 'data'), { clock: exampleClock() })
  const other = new Other()
  const outbox = new Outbox(store, 'test')
  const forwarder = new Forwarder({ outbox, target: other, clock })
  onTestFinished(async () => {
    await forwarder.close()
    store.close()
    clock.stop()
  })
  const session = (id: string, scans: number, ended = false) => {
    const path = store.sessionPath(id)
    const info = { ...exampleInfo, id }
    const file = createSessionFile(path, { info, setup: exampleSetup, clock: exampleClock() })
    file.commit({ readings: Array.from({ length: scans }, (_, i) => scan(i, 2)).flat() })
    if (ended) file.finish('complete', 'done')
    store.registerSession(file)
    file.close()
    return path
  }
  /** Long enough for all that waits for nothing but its turn. */
  const settle = () => clock.sleep(1)
  return { clock, store, other, outbox, forwarder, session, settle }
}

it('sends a session in parcels of a thousand readings, has it counted, and lets go of it when it has ended', async () => {
  const { other, outbox, forwarder, session, settle } = station()
  expect(forwarder.state).toEqual({ state: 'up-to-date', behind: 0, words: 'Nothing to send yet.' })
  const path = session('a', 1_100, true)
  expect(outbox.unconfirmed()).toEqual(['a'])
  forwarder.follow('a', path)
  await settle()
  expect(other.sent).toEqual(['a 1..1000', 'a 1001..2000', 'a 2001..2200'])
  expect(other.asked).toMatchObject([{ session: 'a', after: { seq: 0 }, upTo: { seq: 2_200 } }])
  expect(forwarder.state).toEqual({
    ...{ state: 'up-to-date', behind: 0 },
    words: 'Everything was sent; the other side has counted it, 2200 readings since sending began.',
  })
  expect(outbox.unconfirmed()).toEqual([])
  expect(outbox.sent('a').seq).toBe(2_200)
  expect(outbox.sent('b')).toEqual({ seq: 0, event: 0, point: 0 })
})

it('goes on with a session that is being measured, and sends the one that is wanted first before all others', async () => {
  const { other, outbox, forwarder, session, settle } = station()
  const [a, b, c] = [session('a', 1), session('b', 1), session('c', 1)]
  forwarder.follow('a', a)
  forwarder.follow('b', b)
  forwarder.follow('c', c, true)
  await settle()
  expect(other.sent).toEqual(['c 1..2', 'a 1..2', 'b 1..2'])
  expect(outbox.unconfirmed()).toHaveLength(3)
  forwarder.wake()
  await settle()
  expect([other.sent.length, other.asked.length]).toEqual([3, 3])
})

it('tries again after half a second, then after twice as long each time, and after a minute at last', async () => {
  const { clock, other, forwarder, session, settle } = station()
  const triedS: number[] = []
  other.take = () => {
    triedS.push(clock.now().monoUs / 1e6)
    return Promise.reject(new Error('away'))
  }
  forwarder.follow('a', session('a', 2))
  await settle()
  const words = () => forwarder.state.words
  expect(forwarder.state).toMatchObject({ state: 'waiting', behind: 4 })
  expect(words()).toBe('The other side did not take it (away); trying again in 0.5 s. Nothing is lost.')
  // What is committed meanwhile gives the other side no less of a rest.
  forwarder.wake()
  await clock.sleep(190_000)
  expect(triedS.slice(1).map((s, i) => s - triedS[i]!)).toEqual([0.5, 1, 2, 4, 8, 16, 32, 60, 60])
  other.take = () => Promise.resolve()
  await clock.sleep(61_000)
  expect(forwarder.state).toMatchObject({ state: 'up-to-date', behind: 0 })
  // What works again begins with the short pause when it fails the next time.
  other.take = () => Promise.reject(new Error('away'))
  forwarder.follow('b', session('b', 1))
  await settle()
  expect(words()).toContain('(away); trying again in 0.5 s')
})

it('sends a session once more where the other side has less than was sent, and tells of it where that does not help', async () => {
  const { other, outbox, forwarder, session, settle, store } = station()
  const lacking = { seq: 3, event: 0, point: 0 }
  const answers = [lacking]
  const whole = other.has
  other.has = (part) => Promise.resolve(answers.shift() ?? null).then((answer) => answer ?? whole(part))
  forwarder.follow('a', session('a', 2))
  await settle()
  expect(other.sent).toEqual(['a 1..4', 'a 1..4'])
  expect(forwarder.state).toMatchObject({
    state: 'up-to-date',
    words: expect.stringContaining(' 4 readings'),
  })
  answers.push(lacking, lacking)
  forwarder.follow('b', session('b', 2))
  await settle()
  expect(forwarder.state).toMatchObject({
    state: 'refused',
    words: expect.stringMatching(/^Session b was sent twice, and the other side still has 3 of 4 readings\./),
  })
  expect(outbox.unconfirmed()).toContain('b')
  // Followed anew it is tried anew.
  forwarder.follow('b', store.sessionPath('b'))
  await settle()
  expect(forwarder.state.state).toBe('up-to-date')
})

it('leaves a session alone of which the other side has another record, and goes on with the others', async () => {
  const { other, forwarder, session, settle } = station()
  other.take = ({ session: { id } }) =>
    id === 'a' ? Promise.reject(new OtherRecord('Another record is there.')) : Promise.resolve()
  forwarder.follow('a', session('a', 1))
  forwarder.follow('b', session('b', 1))
  await settle()
  expect(other.sent).toEqual(['a 1..2', 'b 1..2'])
  expect(forwarder.state).toMatchObject({
    ...{ state: 'refused', behind: 0 },
    words: expect.stringMatching(/^Another record is there\. Everything was sent/),
  })
})

it('says so where the other side cannot count', async () => {
  const { other, forwarder, session, settle } = station()
  other.has = () => Promise.resolve(undefined)
  forwarder.follow('a', session('a', 1))
  await settle()
  expect(forwarder.state.words).toBe('Everything was sent; the other side has acknowledged each message.')
})

it('waits at the end for the parcel under way, and lets go of a side that does not answer', async () => {
  const { clock, other, forwarder, session, settle } = station()
  let answer = (_?: Error) => {}
  other.take = () =>
    new Promise((resolve, reject) => {
      answer = (fault) => (fault ? reject(fault) : resolve())
    })
  forwarder.follow('a', session('a', 1))
  await settle()
  expect(forwarder.state).toMatchObject({ state: 'sending', behind: 2, words: 'Sending session a.' })
  let ended = false
  const closing = forwarder.close().then(() => {
    ended = true
  })
  await clock.sleep(1_400)
  expect([ended, other.abandoned]).toEqual([false, 0])
  await clock.sleep(200)
  expect(other.abandoned).toBe(1)
  answer(new Error('abandoned'))
  await closing
  expect(other.closed).toBe(1)
})
