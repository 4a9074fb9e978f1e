import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { Services } from '../../main/host/services.ts'
import { ValidationDesk } from '../../main/host/validation/validation-desk.ts'
import { type EmptyHost, openEmptyHost } from './empty-host.ts'
import { enterKeeper, KEEPER } from './keeper.ts'
import { NOTHING_TO_STATE } from './statements.ts'
import { type Client, refusalOf, Windows } from './window.ts'

let services: Services
let host: EmptyHost
let client: Client
const windows = new Windows()
const USE = 'Comparison calibration of platinum thermometers, 15 °C to 95 °C'

beforeAll(async () => {
  host = await openEmptyHost()
  ;({ services } = host)
  await enterKeeper(services)
  await services.people.save({ name: 'O. Hand', rights: ['operate'], closed: false }, 'another long one', {
    who: KEEPER.name,
    why: '',
  })
  client = windows.open(services, 'operator')
})
afterAll(async () => {
  windows.close()
  await host.close()
})

const sign = () =>
  client.points.signOff({
    ...{ session: 'none', password: KEEPER.password, remark: '', statements: NOTHING_TO_STATE },
  })

describe('the validation of the program at a station', () => {
  it('says that there is none yet, and does not hold sign-off unless the settings say so', async () => {
    const state = await client.validation.state()
    expect(state).toMatchObject({ last: null, accepted: null, before: null, running: null, required: false })
    expect(state.words).toBe('Version 0.1.0 as it is installed here has not been validated yet.')
    expect((await refusalOf(sign())).words).not.toContain('validated')
    const settings = await client.settings.get()
    await client.settings.save({ settings: { ...settings, signOffNeedsValidation: true } })
    expect((await refusalOf(sign())).words).toContain('has not been validated and accepted')
  })

  it('runs in a thread, once at a time, by who may; the record is kept', async () => {
    const hand = windows.open(services, 'operator', 'O. Hand')
    expect((await refusalOf(hand.validation.run())).code).toBe('FORBIDDEN')
    const running = client.validation.run()
    await expect.poll(async () => (await client.validation.state()).running).not.toBeNull()
    expect((await refusalOf(client.validation.run())).words).toContain('runs already')
    expect((await running).words).toMatch(/^Passed: \d+ checks with \d+ figures/)
    const { last, accepted, words } = await client.validation.state()
    expect(last).toMatchObject({ id: 'V-0001', verdict: 'passed', failed: 0, who: KEEPER.name })
    expect(accepted).toBeNull()
    expect(words).toContain('Nobody has accepted it yet')
    expect((await refusalOf(sign())).words).toContain('has not been validated and accepted')
  }, 240_000)

  it('is accepted for an intended use by who may sign, and then lets reports be signed', async () => {
    const hand = windows.open(services, 'operator', 'O. Hand')
    expect((await refusalOf(hand.validation.accept({ id: 'V-0001', use: USE }))).code).toBe('FORBIDDEN')
    await client.validation.accept({ id: 'V-0001', use: USE })
    const { accepted, words } = await client.validation.state()
    expect(accepted?.accepted).toMatchObject({ who: KEEPER.name, use: USE })
    // The clock of this station jumps while nothing is asked of it.
    expect(words.replace(/on 2026-\d\d-\d\d/, 'on DAY')).toBe(
      `Validated for version 0.1.0 on DAY by ${KEEPER.name}, for: ${USE}`,
    )
    expect((await refusalOf(sign())).words).not.toContain('validated')
    const html = Buffer.from(
      await (await client.validation.paper({ id: 'V-0001', format: 'html' })).arrayBuffer(),
    ).toString()
    expect(html).toContain(USE)
    expect(html).toContain(KEEPER.name)
    expect(services.store.ledger({ subject: 'V-0001' }).map(({ why }) => why)).toEqual([
      `Accepted for: ${USE}`,
      'Validation of 0.1.0: passed',
    ])
  })

  it('does not hold for another program: after an upgrade the window asks, and sign-off waits', async () => {
    const kept = services.store.records.one('validation', 'V-0001')!
    const act = { who: 'test', why: 'as another version left it' }
    services.store.records.save(
      'validation',
      'V-0001',
      { ...kept, fingerprint: 'a'.repeat(64), version: '0.0.9' },
      act,
    )
    const { accepted, before, words } = await client.validation.state()
    expect(accepted).toBeNull()
    expect(before?.version).toBe('0.0.9')
    expect(words).toContain('The program is another than the one that was validated: version 0.0.9')
    expect((await refusalOf(sign())).words).toContain('has not been validated and accepted')
    expect((await refusalOf(client.validation.accept({ id: 'V-0001', use: USE }))).words).toContain(
      'another program',
    )
  })

  it('is refused at once where the files are others than those that the station runs', async () => {
    const { station, store, clock } = services
    const facts = await services.validation.program()
    const looks = ['a', 'b'].map((letter) => ({ ...facts, fingerprint: letter.repeat(64) }))
    const desk = new ValidationDesk({
      ...{ station, store, clock, settings: () => services.settings({}) },
      installed: () => Promise.resolve(looks.shift()!),
    })
    await expect(desk.run(KEEPER.name)).rejects.toThrow('were changed since this station was started')
    expect((await desk.state()).running).toBeNull()
    await desk.close()
  })

  it('is never accepted where it failed', async () => {
    const kept = services.store.records.one('validation', 'V-0001')!
    const { fingerprint } = await services.validation.program()
    const { accepted: _accepted, ...open } = kept
    const failed = {
      ...open,
      id: 'V-0002',
      fingerprint,
      verdict: 'failed' as const,
      failed: 3,
      utcUs: kept.utcUs + 1,
    }
    services.store.records.save('validation', 'V-0002', failed, { who: 'test', why: 'a failed one' })
    expect((await client.validation.state()).words).toContain('failed its validation')
    expect((await refusalOf(client.validation.accept({ id: 'V-0002', use: USE }))).words).toContain(
      'has not passed',
    )
  })
})
